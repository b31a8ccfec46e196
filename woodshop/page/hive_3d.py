"""A hive in three dimensions: to turn, to pull apart, and to ask for each of its parts."""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import asin, atan2, cos, hypot, pi, sin
from typing import Any

from nicegui import ui
from nicegui.elements.mixins.text_element import TextElement
from nicegui.events import SceneClickEventArguments

from woodshop.documents.hive_parts import ROLES, HivePart, HiveParts
from woodshop.page.controls import press, words
from woodshop.shape.part import Role
from woodshop.units.wording import LengthUnit

_PER_UNIT = 100.0  # millimeters to a unit of the scene
_TURN, _LIFT = pi / 8, pi / 16
_STEEPEST = 0.47 * pi  # from above, the camera would not know which way is up
_FARTHER = 1.2
_APART = 5.0  # units that the top moves from the bottom, at most: the pulled-apart hive still fits in the picture
_STEPS = 20  # of the slider
_FRAMES = 12  # pictures in a second: a machine without a graphics card draws them too
_FIELD = 28  # degrees that the camera sees: little, so that upright edges look upright
_AWAY = 3.4  # times the longest side of the hive
_TINTS = (1.0, 0.9, 0.8)  # so that one part ends where the next begins


@dataclass(frozen=True, slots=True)
class _Colors:
    """The colors of parts, and of the ground behind them."""

    ground: str
    wood: str
    mesh: str
    cloth: str
    bought: str
    filling: str
    existing: str
    chosen: str


_LIGHT = _Colors("#f3efe4", "#d9a55c", "#6d7378", "#cdb891", "#7d93a8", "#fffdf5", "#b9bab4", "#1c6fb5")
_DARK = _Colors("#2a2d2c", "#d9a55c", "#8b9298", "#cdb891", "#8fa6bb", "#f2efe6", "#777b77", "#6cc0ff")


@dataclass
class HiveView:
    """How a hive is looked at. It outlives the picture, so that a change of the design does not turn the hive."""

    around: float = -0.30 * pi
    up: float = 0.10 * pi
    away: float = 1.0
    apart: int = 0
    chosen: int | None = None


class Hive3D:
    """The picture of a hive with its buttons and the list of its parts; both choose a part.

    `sight` is changed by the buttons. `on_part` gets a part when it is chosen; its size is said in `unit`.
    To be made where it is to be shown.
    """

    def __init__(self, hive: HiveParts, sight: HiveView, is_dark: bool, on_part: Callable[[HivePart], None],
                 unit: LengthUnit) -> None:  # fmt: skip
        self._hive, self._sight, self._on_part = hive, sight, on_part
        self._colors = _DARK if is_dark else _LIGHT
        self._solids: list[list[Any]] = [[] for _ in hive.parts]
        self._buttons: list[TextElement] = []
        self._middle = [(a + b) / 2 / _PER_UNIT for a, b in zip(hive.low, hive.high, strict=True)]
        self._put: deque[tuple[float, float, float]] = deque(
            maxlen=8
        )  # where buttons put the camera: not dragged there
        self._high = max(b - a for a, b in zip(hive.low, hive.high, strict=True)) / _PER_UNIT
        self._unit = unit
        self._fitted = sight.apart  # how far apart the hive was when the camera was moved to fit it
        with ui.element("div"):
            with ui.element("div").classes("hive-3d"):
                with ui.element("div").classes("hive-picture"):
                    self._scene = self._built()
                    self._controls()
                with ui.element("div").classes("hive-parts").props('role=group aria-label="Parts of this hive"'):
                    self._listed()
            self._size = words("p", "").classes("part-size").props("role=status")
        self._pull(sight.apart)
        self._look()
        if sight.chosen is not None and sight.chosen < len(hive.parts):
            self.choose(sight.chosen)

    def choose(self, number: int) -> None:
        """Marks a part, by its number in the hive, and calls `on_part` with it."""
        before, self._sight.chosen = self._sight.chosen, number
        for each in {before, number} - {None}:
            if each is not None and each < len(self._buttons):
                self._paint(each)
                self._buttons[each].props(f"aria-pressed={'true' if each == number else 'false'}")
        part = self._hive.parts[number]
        sizes = " x ".join(size.number(self._unit) for size in part.part.size)
        self._size.set_text(f"{part.name}: {sizes} {self._unit}, {part.part.material.name}. Its drawing is below.")
        self._on_part(part)

    def _built(self) -> ui.scene:
        label = f"Picture of the hive {self._hive.name}. The buttons below turn it, and the list names its parts."
        shown = ui.scene(
            width=640,
            height=480,
            grid=False,
            fps=_FRAMES,
            background_color=self._colors.ground,
            on_click=self._tapped,
            click_events=["click"],
            camera=ui.scene.perspective_camera(fov=_FIELD),
        ).classes("hive-scene")
        shown.props["role"] = "img"
        shown.props["aria-label"] = label
        x, y, z = self._middle
        self._tiers = []
        with shown:
            for tier in range(len(self._hive.tiers)):
                with shown.group() as group:
                    self._tiers.append(group)
                    for number, part in enumerate(self._hive.parts):
                        if part.tier == tier:
                            self._solid(shown, number, part, (x, y, z))
        return shown

    def _solid(self, shown: ui.scene, number: int, part: HivePart, middle: tuple[float, float, float]) -> None:
        for block in (block for piece in part.blocks for block in piece):
            at = [m / _PER_UNIT - c for m, c in zip(block.middle, middle, strict=True)]
            wide, deep, tall = (size / _PER_UNIT for size in block.size)
            solid = shown.box(wide, deep, tall).move(*at).with_name(str(number))
            self._solids[number].append(solid)
        self._paint(number)

    def _paint(self, number: int) -> None:
        part, colors = self._hive.parts[number], self._colors
        kind = part.part.material
        color = {Role.BOUGHT: colors.bought, Role.FILLING: colors.filling, Role.EXISTING: colors.existing}.get(
            part.role, colors.wood if kind.is_lumber else colors.mesh if kind.mesh is not None else colors.cloth
        )
        tinted = _tinted(color, _TINTS[(number + part.tier) % len(_TINTS)])
        see_through = 0.55 if kind.mesh is not None else 1.0
        for solid in self._solids[number]:
            solid.material(colors.chosen if number == self._sight.chosen else tinted, see_through)

    def _tapped(self, event: SceneClickEventArguments) -> None:
        for hit in event.hits:
            if hit.object_name.isdigit():
                self.choose(int(hit.object_name))
                return

    def _controls(self) -> None:
        with ui.element("label").classes("apart"):
            words("span", "Pull the hive apart")
            slider = ui.element("input")
            slider.props["type"] = "range"
            slider.props["min"], slider.props["max"], slider.props["step"] = 0, _STEPS, 1
            slider.props["value"] = self._sight.apart
            slider.on(
                "input",
                lambda e: self._slid(slider, int(e.args)),
                js_handler="(e) => emit(e.target.value)",
                throttle=0.05,
            )
            slider.on("change", self._fit, [])
        with ui.element("div").classes("turning").props('role=group aria-label="Turn the hive"'):
            for text, turn, lift, away in (
                ("Turn left", -_TURN, 0.0, 1.0),
                ("Turn right", _TURN, 0.0, 1.0),
                ("From higher", 0.0, _LIFT, 1.0),
                ("From lower", 0.0, -_LIFT, 1.0),
                ("Nearer", 0.0, 0.0, 1 / _FARTHER),
                ("Farther", 0.0, 0.0, _FARTHER),
            ):
                press(text, partial(self._turn, turn, lift, away))
        meaning = f"Wood color: {ROLES[Role.MADE]}. Gray: {ROLES[Role.EXISTING]}. White: {ROLES[Role.FILLING]}."
        words("p", meaning).classes("hint")

    def _listed(self) -> None:
        for tier in range(len(self._hive.tiers) - 1, -1, -1):
            words("h3", self._hive.tiers[tier])
            with ui.element("ul"):
                for number, part in enumerate(self._hive.parts):
                    if part.tier == tier:
                        self._entry(number, part)
        self._buttons.sort(key=lambda each: int(each.props["data-part"]))

    def _entry(self, number: int, part: HivePart) -> None:
        with ui.element("li"):
            button = press(part.name, lambda: self.choose(number)).classes(f"part-{part.role.value}")
            button.props["data-part"] = number
            button.props["aria-pressed"] = "false"
            self._buttons.append(button)

    def _slid(self, slider: ui.element, steps: int) -> None:
        slider.props["value"] = steps  # so that it stays there when the connection was lost for a moment
        self._pull(steps)

    async def _fit(self) -> None:
        """Moves the camera so that the hive is seen as large as before, from where it is seen now."""
        await self._read_camera()
        self._fitted = self._sight.apart
        self._look()

    def _pull(self, steps: int) -> None:
        self._sight.apart = steps
        for n, group in enumerate(self._tiers):
            group.move(z=(n / max(1, len(self._tiers) - 1) - 0.5) * _APART * steps / _STEPS)

    @property
    def _usual(self) -> float:
        """How far away the camera is when nobody went nearer or farther: all of the hive is seen, also pulled apart."""
        return (self._high + _APART * self._fitted / _STEPS) * _AWAY

    async def _turn(self, around: float, up: float, away: float) -> None:
        """Turns the hive from where it is seen now."""
        await self._read_camera()
        sight = self._sight
        sight.around += around
        sight.up = max(-_STEEPEST, min(_STEEPEST, sight.up + up))
        sight.away = max(0.3, min(3.0, sight.away * away))
        self._look()

    async def _read_camera(self) -> None:
        """Takes over from where the hive is seen, which may be where somebody dragged it with a mouse or finger."""
        sight = self._sight
        try:
            at = (await self._scene.get_camera())["position"]
        except TimeoutError:  # the browser is busy: from where the buttons left it
            at = None
        if at and self._near(at["x"], at["y"], at["z"]) not in self._put:
            far = hypot(at["x"], at["y"], at["z"])
            sight.up, sight.around = asin(at["z"] / far), atan2(at["y"], at["x"])
            sight.away = far / self._usual

    @staticmethod
    def _near(x: float, y: float, z: float) -> tuple[float, float, float]:
        return round(x, 2), round(y, 2), round(z, 2)

    def _look(self) -> None:
        sight = self._sight
        away = sight.away * self._usual
        flat = away * cos(sight.up)
        x, y, z = flat * cos(sight.around), flat * sin(sight.around), away * sin(sight.up)
        self._put.append(self._near(x, y, z))
        self._scene.move_camera(
            x=x,
            y=y,
            z=z,
            look_at_x=0,
            look_at_y=0,
            look_at_z=0,
            duration=0,
        )


def _tinted(color: str, by: float) -> str:
    """A color such as "#d9a55c" with this share of its light."""
    return "#" + "".join(f"{round(int(color[n : n + 2], 16) * by):02x}" for n in (1, 3, 5))
