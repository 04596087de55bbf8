"""Settings: the club, this device, what the numbers rest on."""

from fastapi import APIRouter

router = APIRouter()
