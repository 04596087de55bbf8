"""To look at: the photos that need a look, worst trust first."""

from fastapi import APIRouter

router = APIRouter()
