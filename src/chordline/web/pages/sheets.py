"""Printed sheets: pages and papers to take away."""

from fastapi import APIRouter

router = APIRouter()
