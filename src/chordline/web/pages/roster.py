"""Roster: gymnasts in and out, groups, cards."""

from fastapi import APIRouter

router = APIRouter()
