"""Everything a person can do while watching, without a window: packs, clock, camera, undo.

`Session.act` takes an action of `viewer.session.keys`; `Session.tick` takes the time. The same
calls in the same order give the same pictures.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from packsim.errors import InputError
from viewer.line.shaded_voids import shaded_voids
from viewer.screen.camera import Box, Camera
from viewer.screen.layout import Layout, lay_out
from viewer.session.adjust import KNOBS, Setting, turned
from viewer.session.camera_moves import look_at_line
from viewer.session.lesson_play import LessonPlay, follow_lesson
from viewer.session.playback import MAX_STEPS, Playback
from viewer.session.save import free_name, save_setting
from viewer.session.source import Feed, Live
from viewer.views.overlays import band_height
from viewer.views.plan import Voided, worst_can
from viewer.views.plan_line import RULER_PX

__all__ = ["Pack", "Session"]

MESSAGE_S = 6.0
"""How long a message stays [s]."""

VOIDS_EVERY_S = 0.25
"""Voids are looked for this often while the pack runs [s]."""


@dataclass
class Pack:
    """One pack on the screen and its history.

    Parameters
    ----------
    feed : Feed
        Where its frames come from.
    first : Setting
        The setting it began with.
    picked : int or None
        The can picked, by its number.
    done, undone : list of Setting
        Settings to go back to, and on to again.
    voids : tuple of Voided
        Voids last found.
    voids_key : tuple of float
        For which moment and stretch.
    """

    feed: Feed
    first: Setting
    picked: int | None = None
    done: list[Setting] = field(default_factory=list)
    undone: list[Setting] = field(default_factory=list)
    voids: tuple[Voided, ...] = ()
    voids_key: tuple[float, ...] = ()


class Session:
    """What is on the screen.

    Parameters
    ----------
    feed : Feed
        The first pack.
    size_px : tuple of int
        Size of the window [px].
    scale : float, optional
        Scale factor; chosen from the window when omitted [-].
    seed : int
        Seed of every passage begun here: two packs side by side share it.
    folder : Path
        Where pictures and scenarios are saved.
    stem : str
        First part of their names.
    """

    def __init__(
        self,
        feed: Feed,
        size_px: tuple[int, int],
        *,
        scale: float | None = None,
        seed: int = 0,
        folder: Path = Path(),
        stem: str = "line",
    ) -> None:
        self.packs = [Pack(feed, feed.setting)]
        self.seed, self.folder, self.stem = seed, folder, stem
        self.scale = scale
        self.layout: Layout = lay_out(*size_px, scale)
        self.active = 0
        self.stage = 0
        self.knob = 0
        self.wire = 0
        self.all_stages = True
        self.clock = Playback(feed.dt_s)
        self.follow = False
        self.footprints = True
        self.shade = True
        self.overlay = "cautions"
        self.wants: list[str] = []
        self.message = ""
        self.filmed_s: float | None = None
        self.lesson: LessonPlay | None = None
        self._message_until = 0.0
        self._now_s = 0.0
        self._travel_mm = feed.frame.travel_mm
        self.camera = Camera(0.0, 0.0, 1.0, self.layout.canvas)
        self._acts = _acts(self)
        look_at_line(self)

    # -- what is shown -------------------------------------------------------------------------

    @property
    def now_s(self) -> float:
        """Time of the last `tick` [s]."""
        return self._now_s

    @property
    def pack(self) -> Pack:
        """The pack that is being changed."""
        return self.packs[self.active]

    @property
    def views(self) -> tuple[Camera, ...]:
        """One camera per pack, all looking at the same place."""
        ruler = self.layout.px(RULER_PX)
        return tuple(
            self.camera.placed(box._replace(y=box.y + ruler, h=max(1, box.h - ruler)))
            for box in self.boxes
        )

    @property
    def boxes(self) -> tuple[Box, ...]:
        """Where the plan views are, rulers included; a lesson's words stand under them."""
        return self.layout.canvases(len(self.packs), band_height(self))

    def shown_can(self, pack: Pack) -> int | None:
        """Return the number of the can in the elevation: the picked one, else the worst."""
        if pack.picked is not None and bool((pack.feed.frame.id == pack.picked).any()):
            return pack.picked
        bounds = pack.feed.picture.bounds_mm
        return worst_can(pack.feed.frame, float(bounds[self.stage]), float(bounds[self.stage + 1]))

    # -- time ----------------------------------------------------------------------------------

    def tick(self, now_s: float, *, patient: bool = False) -> int:
        """Go on to a time [s]; return how many steps were made.

        A patient caller waits for every step that is due; a window shows fewer rather than freeze.
        """
        passed, self._now_s = now_s - self._now_s, now_s
        if now_s >= self._message_until:
            self.message = ""
        if self.overlay == "cautions":
            self.clock = replace(self.clock, seen_s=now_s)
            return 0
        if self.lesson is not None:
            follow_lesson(self, self.lesson, max(0.0, passed))
        self.clock, due = self.clock.at(now_s, None if patient else MAX_STEPS)
        self.step(due)
        return due

    def step(self, count: int) -> None:
        """Make simulation steps in every pack."""
        for pack in self.packs:
            pack.feed.step(count)
        self._ride()
        self._find_voids()

    def _ride(self) -> None:
        travel = self.pack.feed.frame.travel_mm
        moved, self._travel_mm = travel - self._travel_mm, travel
        if self.follow:
            u = self.camera.u_mm + max(0.0, moved)
            self.camera = self.camera.centred(0.0 if u > self.pack.feed.picture.length_mm else u)

    def _find_voids(self) -> None:
        for pack, view in zip(self.packs, self.views, strict=True):
            low, high, _, _ = view.spans_mm()
            frame = pack.feed.frame
            near = frame.time_s // VOIDS_EVERY_S
            key = (near, low, high) if not self.follow else (near, view.px_per_mm, 0.0)
            if not self.shade:
                pack.voids, pack.voids_key = (), ()
            elif key != pack.voids_key:
                pack.voids = shaded_voids(frame, pack.feed.picture, low, high)
                pack.voids_key = key

    # -- doing ---------------------------------------------------------------------------------

    def act(self, action: str, argument: int = 0) -> None:
        """Do what a control says; a refused change becomes a message.

        Parameters
        ----------
        action : str
            Name from `viewer.session.keys.CONTROLS`, or ``card``, ``pick knob`` from the mouse.
        argument : int
            Its argument.
        """
        if self.overlay and action not in ("quit", "full screen", "text size", "picture", "clip"):
            was, self.overlay = self.overlay, ""
            if was == "cautions" or action in ("close", "help"):
                return
        try:
            self._acts[action](argument)
        except InputError as problem:
            self.say(str(problem))
        self._find_voids()

    def say(self, message: str) -> None:
        """Show a message for a while."""
        self.message, self._message_until = message, self._now_s + MESSAGE_S

    def resize(self, width_px: int, height_px: int) -> None:
        """Lay the window out anew, keeping the middle of the picture."""
        old = self.layout.canvas
        self.layout = lay_out(max(320, width_px), max(200, height_px), self.scale)
        grown = min(self.layout.canvas.w / max(1, old.w), self.layout.canvas.h / max(1, old.h))
        self.camera = self.camera.placed(self.layout.canvas).zoomed(grown)

    def turn(self, steps: int) -> None:
        """Turn the chosen knob of the active pack."""
        knob, pack = KNOBS[self.knob], self.pack
        stages = self.scope
        before = pack.feed.setting
        after = turned(before, knob, steps, stages, self.wire)
        if after == before:
            return
        pack.feed.retune(after, restart=False) if not knob.restarts else self._anew(pack, after)
        pack.done.append(before)
        pack.undone.clear()

    @property
    def scope(self) -> tuple[int, ...]:
        """Stages a change acts on."""
        if self.all_stages:
            return tuple(range(len(self.pack.feed.setting.scenario.stages)))
        return (self.stage,)

    def _anew(self, pack: Pack, setting: Setting) -> None:
        """Begin a pack anew; with two, both begin anew, so that they stay in step."""
        pack.feed.retune(setting, restart=True)
        pack.picked = None
        for other in self.packs:
            if other is not pack:
                other.feed.retune(other.feed.setting, restart=True)
        self._travel_mm = self.pack.feed.frame.travel_mm

    def restore(self, setting: Setting) -> None:
        """Put the active pack back to a setting; another can or layout begins anew."""
        now = self.pack.feed.setting
        same = now.size == setting.size and _layouts(now) == _layouts(setting)
        if same:
            self.pack.feed.retune(setting, restart=False)
        else:
            self._anew(self.pack, setting)

    def set_beside(self, setting: Setting | None) -> None:
        """Show a second pack with its own setting, or only the first."""
        if setting is None:
            self.packs, self.active = self.packs[:1], 0
            return
        if not isinstance(self.packs[0].feed, Live):
            raise InputError("second pack", "a recording", "a running passage beside it")
        self.packs[0].feed.retune(self.packs[0].feed.setting, restart=True)
        self.packs = [self.packs[0], Pack(Live(setting, self.seed), setting)]
        self._travel_mm = 0.0

    # -- keeping -------------------------------------------------------------------------------

    def save(self) -> None:
        """Save the active pack's setting as a scenario file under a name not yet taken."""
        path = save_setting(self.pack.feed.setting, self.folder, self.stem)
        self.say(f"saved {path}")

    def picture_name(self) -> Path:
        """Return a name not yet taken for a picture."""
        return free_name(self.folder, self.stem, ".png")

    def clip_name(self) -> Path:
        """Return a name not yet taken for a clip."""
        return free_name(self.folder, self.stem, ".mp4")


def _layouts(setting: Setting) -> tuple[str, ...]:
    return tuple(stage.layout for stage in setting.scenario.stages)


def _acts(session: Session) -> dict[str, Callable[[int], None]]:
    from viewer.session.actions import acts_of

    return acts_of(session)
