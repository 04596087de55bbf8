"""Gymnasts and groups."""

from fastapi import APIRouter

router = APIRouter(tags=["gymnasts"])
