"""One screen: its photos, holds and findings."""

from fastapi import APIRouter

router = APIRouter()
