"""Screens, holds, findings."""

from fastapi import APIRouter

router = APIRouter(tags=["screens"])
