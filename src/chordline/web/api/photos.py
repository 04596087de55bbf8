"""Photos and their marks."""

from fastapi import APIRouter

router = APIRouter(tags=["photos"])
