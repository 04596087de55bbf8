"""Squad: every gymnast in words, to search, sort and filter."""

from fastapi import APIRouter

router = APIRouter()
