"""Implements `ClubBook`."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Select, and_, func, select

from chordline.adapters.db.rows import club_of, group_of
from chordline.adapters.db.schema import CLUB, GROUP_MEMBER, GYM_GROUP, GYMNAST
from chordline.adapters.db.search_keys import name_key
from chordline.adapters.db.session import Session
from chordline.application.club.records import Club, Group
from chordline.errors import NotThereError, TakenError


class SqlClubs:
    """Clubs and their groups."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, name: str) -> Club:
        """Found a club."""
        if not self._session.insert_once(CLUB, ("name",), name=name.strip()):
            raise TakenError("club", name)
        query = select(CLUB).where(CLUB.c.name == name.strip())
        return club_of(self._session.rows(query)[0])

    def rename(self, club_id: int, name: str) -> Club:
        """Give a club another name."""
        self._session.row(CLUB, club_id, lock=True)
        others = select(CLUB.c.id).where(CLUB.c.name == name.strip(), CLUB.c.id != club_id)
        if self._session.rows(others):
            raise TakenError("club", name)
        self._session.change(CLUB, club_id, name=name.strip())
        return club_of(self._session.row(CLUB, club_id))

    def all(self) -> tuple[Club, ...]:
        """Return every club, the oldest first."""
        return tuple(map(club_of, self._session.rows(select(CLUB).order_by(CLUB.c.id))))

    def add_group(self, club_id: int, name: str) -> Group:
        """Make a group."""
        self._session.row(CLUB, club_id)
        key = name_key(name)
        values = {"club_id": club_id, "name": name.strip(), "name_key": key}
        if not self._session.insert_once(GYM_GROUP, ("club_id", "name_key"), **values):
            raise TakenError("group", name)
        query = _groups().where(GYM_GROUP.c.club_id == club_id, GYM_GROUP.c.name_key == key)
        return group_of(self._session.rows(query)[0])

    def rename_group(self, group_id: int, name: str) -> Group:
        """Give a group another name."""
        club_id = self._session.row(GYM_GROUP, group_id, lock=True).club_id
        key = name_key(name)
        others = select(GYM_GROUP.c.id).where(
            GYM_GROUP.c.club_id == club_id, GYM_GROUP.c.name_key == key, GYM_GROUP.c.id != group_id
        )
        if self._session.rows(others):
            raise TakenError("group", name)
        self._session.change(GYM_GROUP, group_id, name=name.strip(), name_key=key)
        return group_of(self._session.rows(_groups().where(GYM_GROUP.c.id == group_id))[0])

    def remove_group(self, group_id: int) -> None:
        """Remove a group; its gymnasts stay."""
        self._session.connection.execute(GYM_GROUP.delete().where(GYM_GROUP.c.id == group_id))

    def groups(self, club_id: int) -> tuple[Group, ...]:
        """Return the groups of a club by name."""
        query = _groups().where(GYM_GROUP.c.club_id == club_id)
        return tuple(map(group_of, self._session.rows(query.order_by(GYM_GROUP.c.name_key))))

    def put_in_group(self, group_id: int, gymnast_ids: Sequence[int]) -> None:
        """Put gymnasts into a group."""
        club_id = self._session.row(GYM_GROUP, group_id).club_id
        for gymnast_id in gymnast_ids:
            if self._session.row(GYMNAST, gymnast_id).club_id != club_id:
                raise NotThereError("gymnast", gymnast_id)
            columns = ("gym_group_id", "gymnast_id")
            values = {"gym_group_id": group_id, "gymnast_id": gymnast_id}
            self._session.insert_once(GROUP_MEMBER, columns, **values)

    def take_out_of_group(self, group_id: int, gymnast_ids: Sequence[int]) -> None:
        """Take gymnasts out of a group."""
        self._session.connection.execute(
            GROUP_MEMBER.delete().where(
                GROUP_MEMBER.c.gym_group_id == group_id,
                GROUP_MEMBER.c.gymnast_id.in_(gymnast_ids),
            )
        )


def _groups() -> Select[Any]:
    here = and_(GYMNAST.c.id == GROUP_MEMBER.c.gymnast_id, GYMNAST.c.archived_at.is_(None))
    return (
        select(GYM_GROUP, func.count(GYMNAST.c.id).label("size"))
        .outerjoin(GROUP_MEMBER, GROUP_MEMBER.c.gym_group_id == GYM_GROUP.c.id)
        .outerjoin(GYMNAST, here)
        .group_by(GYM_GROUP.c.id)
    )


def groups_of_gymnast(session: Session, gymnast_id: int) -> tuple[Group, ...]:
    """Return the groups that a gymnast is in, by name."""
    inside = select(GROUP_MEMBER.c.gym_group_id).where(GROUP_MEMBER.c.gymnast_id == gymnast_id)
    query = _groups().where(GYM_GROUP.c.id.in_(inside)).order_by(GYM_GROUP.c.name_key)
    return tuple(map(group_of, session.rows(query)))
