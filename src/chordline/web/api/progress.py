"""What is being measured."""

from fastapi import APIRouter

router = APIRouter(tags=["progress"])
