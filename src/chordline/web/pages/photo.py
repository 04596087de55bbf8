"""One photo: its marks in the editor, whose it is, which test."""

from fastapi import APIRouter

router = APIRouter()
