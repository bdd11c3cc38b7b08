"""What is on the screen and how far it is: packs, clock, camera, message; without a window.

`viewer.session.actions` does what a control says, and lets time pass. The same calls in the same
order give the same pictures.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from packsim.errors import InputError
from packsim.report.words.display import Display
from viewer.lessons.menu import USUAL_FOLDER, LessonMenu
from viewer.lessons.play import LessonPlay
from viewer.line import LoadedLine, index_of
from viewer.screen.camera import Camera
from viewer.screen.layout import (
    DOSE_PX,
    LEAST_PLAN_PX,
    RULER_PX,
    Box,
    Layout,
    lay_out,
    lay_out_presentation,
)
from viewer.screen.roles import PALETTES
from viewer.session.adjust import DIALS
from viewer.session.kept_view import KeptView
from viewer.session.moment import Moment
from viewer.session.playback import Playback
from viewer.session.rocking import kicked_now
from viewer.session.shown import ShownPack
from viewer.session.source import Live, Source

if TYPE_CHECKING:
    from viewer.session.drag import Drag
    from viewer.session.tips import TipShow

MESSAGE_S = 6.0
"""How long a message stays [s]."""


class Session:
    """What is on the screen.

    It begins with one pack from ``source`` in a window of ``size_px``; the scale factor is chosen
    from the window when omitted. ``seed`` is that of every passage started here: two packs side by
    side share it. Pictures and scenarios are saved in ``folder`` under names that begin with
    ``stem``; lengths, speeds and forces are shown in ``units``, and all in ``colours``, a name of
    `viewer.screen.roles.PALETTES`, ``presenting`` large and with few parts. ``last`` is the last
    action with its argument, ``said`` what was said of it.
    """

    def __init__(
        self,
        source: Source,
        size_px: tuple[int, int],
        *,
        scale: float | None = None,
        seed: int = 0,
        folder: Path = Path(),
        stem: str = "line",
        units: str = "metric",
        colours: str = "light",
        presenting: bool = False,
    ) -> None:
        self.folder, self.scale, self.display = folder, scale, Display(units)
        self.pointer: tuple[int, int] | None = None
        self.sprays = self.shade = True
        self.palette = PALETTES[colours]
        self.overlay, self.dock = "cautions", "answers"
        self.menu: LessonMenu | None = None
        self.lesson_folder = USUAL_FOLDER
        self.wants: list[str] = []
        self.pictures: list[tuple[str, bytes]] = []  # words and PNG of those saved, in order
        self.message = ""
        self.message_until_s = self.now_s = 0.0
        self.filmed_s: float | None = None
        self.turning = False  # a hand turned something for this picture, and may go on
        self.presenting = presenting
        self.show(source, size_px, seed=seed, stem=stem)

    def show(self, source: Source, size_px: tuple[int, int], *, seed: int, stem: str) -> None:
        """Show one pack from a source, as in a window just opened; only the look of it stays."""
        self.packs = [ShownPack(source, source.loaded)]
        self.seed, self.stem = seed, stem
        self.layout = self._laid_out(*size_px)
        self.active = self.stage = self.dial = 0
        self.parts: dict[int, int] = {}
        self.drag: Drag | None = None
        self.chosen: int | None = None
        self.all_stages, self.follow = True, False
        self.last: tuple[str, int] | None = None
        self.said = ""
        self.clock = Playback(source.dt_s)
        self.lesson: LessonPlay | None = None
        self.tip: TipShow | None = None
        self.tips_to_hold = 0
        self.scene_starts: dict[int, tuple[Moment, ...]] = {}
        self.camera = Camera(0.0, 0.0, 1.0, self.layout.canvas)
        self.kept_view = KeptView(1.0, 1.0, 0.0, 1.0)
        self.look_at(0.0, source.line_map.length_mm)

    @property
    def pack(self) -> ShownPack:
        """The pack that changes go to."""
        return self.packs[self.active]

    @property
    def watched(self) -> ShownPack:
        """The pack that side view, legend and cards are of: chosen, or where more happens.

        That is the one with the tip held, else with more tips, else with a can that could go over
        in the stage.
        """
        if self.tip is not None or self.chosen is not None:
            number = self.tip.pack if self.tip is not None else self.chosen or 0
            return self.packs[min(number, len(self.packs) - 1)]
        return max(self.packs, key=self._happening) if len(self.packs) > 1 else self.packs[0]

    def _happening(self, pack: ShownPack) -> tuple[int, bool, bool]:
        source = pack.source
        i = index_of(source.frame, self.shown_can(pack))
        loose = i is not None and int(source.frame.role[i]) >= 3
        return int(source.tips.sum()), loose, pack is self.pack

    def name_of(self, pack: ShownPack) -> str:
        """Return which of two packs one is, after a comma; nothing where there is one."""
        return ("", ", upper pack", ", lower pack")[
            0 if len(self.packs) == 1 else 1 + self.packs.index(pack)
        ]

    @property
    def views(self) -> tuple[Camera, ...]:
        """One camera per pack, all looking at the same place."""
        ruler = self.layout.px(RULER_PX)
        wide, low = (self.layout.px(px) if self.doses else 0 for px in DOSE_PX)
        return tuple(
            self.camera.placed(Box(x, y + ruler, max(1, w - wide), max(1, h - ruler - low)))
            for x, y, w, h in self.boxes
        )

    @property
    def doses(self) -> bool:
        """Whether doses and headers stand at the plans: asked for, and room is left."""
        least = self.layout.px(LEAST_PLAN_PX + RULER_PX + DOSE_PX[1])
        return self.sprays and not self.presenting and self.boxes[0].h >= least

    @property
    def boxes(self) -> tuple[Box, ...]:
        """Where the plan views are, rulers included; a lesson's words stand under them."""
        lesson = None if self.presenting else self.lesson
        words = 0 if lesson is None else lesson.band_px(self.layout)
        return self.layout.canvases(len(self.packs), words)

    def shown_can(self, pack: ShownPack) -> int | None:
        """Return the number of the can in the side view: the picked one, else one kept in view."""
        return pack.shown_can(self.stage)

    def look_at_can(self, pack: ShownPack) -> None:
        """Put the can of the elevation in the middle, if there is one."""
        frame = pack.source.frame
        at = index_of(frame, self.shown_can(pack))
        if at is not None:
            self.camera = self.camera.centred(float(frame.x_mm[at]), float(frame.y_mm[at]))

    def look_at(self, low_mm: float, high_mm: float) -> None:
        """Show the whole width of the mat between two stations [mm]."""
        across = self.pack.source.line_map.mat_mm
        kept = KeptView(high_mm - low_mm, across, 12.0, self.camera.px_per_mm)
        self._show(kept, self.views[0].centred((low_mm + high_mm) / 2.0, across / 2.0))

    def _show(self, kept: KeptView, camera: Camera) -> None:
        self.camera = kept.seen_by(camera, self.layout.scale).placed(self.layout.canvas)
        self.kept_view = replace(kept, px_per_mm=self.camera.px_per_mm)

    def say(self, message: str) -> None:
        """Show a message for a while."""
        self.message, self.message_until_s = message, self.now_s + MESSAGE_S
        self.said = message

    def resize(self, width_px: int, height_px: int) -> None:
        """Lay the window out for another size, keeping the middle of the picture."""
        kept = self.kept_view.for_camera(self.views[0])
        self.layout = self._laid_out(max(320, width_px), max(200, height_px))
        self._show(kept, self.views[0])

    def _laid_out(self, width_px: int, height_px: int) -> Layout:
        if self.presenting:
            return lay_out_presentation(width_px, height_px, self.scale)
        stages = len(self.packs[0].source.line_map.stages)
        return lay_out(width_px, height_px, self.scale, stages)

    def step(self, count: int) -> None:
        """Make simulation steps in every pack; go back where negative, as far as all are kept."""
        count = max(count, -self.reach[0])
        was_mm = self.pack.source.frame.travel_mm
        self.ask_leans()
        for pack in self.packs:
            pack.source.step(count)
        if self.follow:
            u = self.camera.u_mm + self.pack.source.frame.travel_mm - was_mm
            beyond = u > self.pack.source.line_map.length_mm
            self.camera = self.camera.centred(0.0 if beyond else max(0.0, u))
        if count:
            for pack, view in zip(self.packs, self.views, strict=True):
                pack.kicked = kicked_now(pack.kicked, pack.source, view, self.clock.speed)
                pack.keep_can(self.stage)
        self.find_voids()

    def ask_leans(self) -> None:
        """Ask for the leans that can be seen: of the view, the stage, and around the can shown."""
        for pack, view in zip(self.packs, self.views, strict=True):
            pack.ask_leans(view, self.stage)

    @property
    def reach(self) -> tuple[int, int]:
        """How many steps back every pack can be seen again, and how many were made after it."""
        back, ahead = zip(*(pack.source.reach for pack in self.packs), strict=True)
        return min(back), min(ahead)

    def go_to(self, time_s: float) -> None:
        """Show again what was at a time of the passage, as near as it is kept [s]."""
        steps = round((time_s - self.pack.source.frame.time_s) / self.pack.source.dt_s)
        self.step(min(steps, self.reach[1]))

    def find_voids(self) -> None:
        """Look for the gaps to shade in what is seen, now and then."""
        for pack, view in zip(self.packs, self.views, strict=True):
            pack.find_voids(view, shade=self.shade, follow=self.follow)

    @property
    def moments(self) -> tuple[Moment, ...]:
        """Where the running packs are, to begin again from."""
        sources = (pack.source for pack in self.packs)
        return tuple(source.moment for source in sources if isinstance(source, Live))

    def begin_at(self, moments: tuple[Moment, ...]) -> None:
        """Begin again from there."""
        for pack, moment in zip(self.packs, moments, strict=True):
            if isinstance(pack.source, Live):
                pack.source.begin_at(moment)

    @property
    def part(self) -> int:
        """Which of several parts the chosen dial turns, such as the wire, lowest 0."""
        return self.parts.get(self.dial, 0)

    @property
    def scope(self) -> tuple[int, ...]:
        """Stages a change acts on."""
        if self.all_stages and not DIALS[self.dial].alone:
            return tuple(range(len(self.pack.source.loaded.scenario.stages)))
        return (self.stage,)

    def change(self, loaded: LoadedLine) -> None:
        """Put the active pack on a changed line; another can or layout starts it again.

        With two packs, both start again then, so that they stay in step.
        """
        now = self.pack.source.loaded
        restart = now.size != loaded.size or _layouts(now) != _layouts(loaded)
        self.pack.source.retune(loaded, restart=restart)
        if restart:
            self.pack.picked = None
            for other in self.packs:
                if other is not self.pack:
                    other.source.retune(other.source.loaded, restart=True)

    def set_beside(self, loaded: LoadedLine | None, seed: int | None = None) -> None:
        """Show a second pack on a line of its own, or only the first.

        Both run with the session's seed, or the second with one of its own.
        """
        if loaded is None:
            self.packs, self.active, self.chosen = self.packs[:1], 0, None
            return
        if not isinstance(self.packs[0].source, Live):
            raise InputError("second pack", "a recording", "a running passage beside it")
        upper = self.packs[0].source
        upper.retune(upper.loaded, restart=True)
        # what it counts outlives it
        lower = Live(loaded, self.seed if seed is None else seed, upper.counted)
        self.packs = [self.packs[0], ShownPack(lower, loaded)]


def _layouts(loaded: LoadedLine) -> tuple[str, ...]:
    return tuple(stage.layout for stage in loaded.scenario.stages)
