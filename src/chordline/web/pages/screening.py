"""Screening: photos come in, progress is shown."""

from fastapi import APIRouter

router = APIRouter()
