"""One gymnast: pictures in pairs, findings, history, notes."""

from fastapi import APIRouter

router = APIRouter()
