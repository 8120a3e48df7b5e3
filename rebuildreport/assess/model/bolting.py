"""Groups of bolts as plain data: the maker's stages, and what they come to.

Torques in N·m, angles in degrees, forces in N, lengths in mm unless a unit stands beside; unrounded.
"""

from __future__ import annotations

import datetime as dt
from typing import Literal

from msgspec import Struct

from ...quantities import NOTHING, Sentence, Several, Text, message
from ...trade.tightening.preload import Tension
from .edition import Public, Signer, Whole, Witness, signer


class Signed(Struct, frozen=True):
    by: Signer
    witness: Witness = NOTHING
    date: Public[dt.date | None] = None
    note: Public[str] = ""

    @classmethod
    def typed(cls, by: str, witness: str | None, date: dt.date | None, note: str | None = None) -> Signed:
        """A signature as a record has it, where nobody has to have witnessed or noted anything."""
        return cls(signer(by), signer(witness), date, note or "")


class StageLine(Struct, frozen=True):
    """One stage as the sheet has it: never rewritten."""

    number: Public[int]
    kind: Public[Literal["torque", "angle", "stretch"]]
    digits: Public[str]  # as typed: "120"
    value: Public[float | None]  # None: withheld, nobody is to tighten by it
    unit: Public[str]
    decimals: Public[int]
    source: Public[Text]
    also: Public[tuple[str, str]] = ("", "")  # the same torque in another unit, as the sheet has it
    note: Public[str] = ""
    withheld: Public[Text] = NOTHING  # why nothing is printed: two units that disagree
    preload: Whole[Tension | None] = None
    doubt: Public[Text] = NOTHING  # why it looks like a slip

    @property
    def doubted(self) -> Text:
        """The doubt with the stage that it is about."""
        return Sentence("stage {number}: {doubt}", number=str(self.number), doubt=self.doubt)


class BoltPlace(Struct, frozen=True):
    across: Public[float]
    along: Public[float]
    number: Public[int]  # in the order of tightening, 1 first


class Stretch(Struct, frozen=True):
    """Stretch as measured on one bolt, beside what the last stage should make [mm]."""

    place: Public[str]
    value: Public[float]
    unit: Public[str]  # as typed, with its decimals
    decimals: Public[int]
    expected: Public[float | None] = None
    share: Public[float | None] = None  # measured over expected
    apart: Public[bool] = False  # by more than tightening scatters


class Fastening(Struct, frozen=True):
    """One group of bolts: the maker's stages, and what they come to."""

    name: Public[str]
    title: Public[Text]
    part: Public[str]
    quantity: Public[int]
    reuse: Public[Literal["always", "never", "by_measure"]]
    buy: Public[int]  # new ones on the parts list
    thread: Public[str]
    strength: Public[str]
    length: Public[float | None]
    lubricant: Public[str]
    sealant: Public[str]
    washer: Public[str]
    order: Public[str]
    order_from: Public[Text]  # "the maker's sequence", "the pattern", "" where it cannot be drawn
    source: Public[Text]
    stages: Public[tuple[StageLine, ...]]
    places: Public[tuple[BoltPlace, ...]] = ()
    circle: Public[bool] = False
    proof_load: Public[float | None] = None
    yield_load: Public[float | None] = None
    nut_factor: Public[float | None] = None
    sources: Public[tuple[Text, ...]] = ()  # of torque factor and scatter
    notes: Public[tuple[Text, ...]] = ()
    doubts: Public[tuple[Text, ...]] = ()  # what looks like a slip in its stages
    stretches: Public[tuple[Stretch, ...]] = ()
    done: Public[tuple[Signed, ...]] = ()
    buy_at: Public[tuple[str, ...]] = ()  # places of the new ones, where that is known of each

    @property
    def new(self) -> Text:
        """How many of the group are new ones, nothing where none is."""
        if self.reuse == "never":
            return Sentence("used once only: new ones")
        if not self.buy:
            return Sentence("by measurement") if self.reuse == "by_measure" else NOTHING
        if self.buy >= self.quantity:
            return Sentence("all {quantity} new", quantity=self.quantity)
        others = Sentence("the others used again")
        if self.reuse == "by_measure":
            others = Sentence("the others by measurement")
        words = message("{count} of {quantity} new ({places}), {others}")
        if not self.buy_at:
            words = message("{count} of {quantity} new, {others}")
        places = Several(self.buy_at, " ")
        return Sentence(words, count=self.buy, quantity=self.quantity, places=places, others=others)

    @property
    def odd_stretch(self) -> Text:
        """Bolts whose stretch is far from what the stages make, nothing where none is."""
        odd = [bolt for bolt in self.stretches if bolt.apart]
        if not odd:
            return NOTHING
        said = Several(f"{bolt.place} ({100.0 * (bolt.share or 0.0):.0f} %)" for bolt in odd)
        return Sentence("stretch far from what the stages make: {bolts}", bolts=said)

    @property
    def withheld(self) -> tuple[Text, ...]:
        """Stages that are not printed, each with its reason."""
        return tuple(
            Sentence("stage {number}: {doubt}", number=str(stage.number), doubt=stage.withheld)
            for stage in self.stages
            if stage.withheld
        )
