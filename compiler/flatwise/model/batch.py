"""Several panels that are cut on one bed by one program a face."""

from typing import Annotated, Any, ClassVar

from pydantic import create_model

from flatwise.model.job import Corner
from flatwise.model.words import DeclaredName, Length, ModelBlock, Refers, mm, word


class Batch(ModelBlock):
    """Jobs whose panels lie on the bed together: one program a face cuts them all."""

    kind: ClassVar[str] = "batch"

    jobs: tuple[Annotated[DeclaredName, Refers("job")], ...] = word(
        "The jobs, the first with the zero: of one machine, cutter and paper, all with `z bed`.",
        example="tray_a, tray_b, tray_c",
    )
    gap: Length = word(
        "With `from`, the least distance between a panel with its holders and the next.", mm(40.0), example="40mm"
    )

    @property
    def start(self) -> Corner | None:
        """The value of `from`."""
        corner: Corner | None = getattr(self, "from", None)
        return corner


_FROM: dict[str, Any] = {
    "from": (
        Corner | None,
        word(
            "Lay the panels in rows: this corner of the first one lies at these machine coordinates. Without it each "
            "job lies at its own `corner`.",
            None,
            shown="each at its own corner",
            example="front_left at 80mm, 80mm",
        ),
    )
}
#: `Batch` with its word `from`, which no class of Python can spell
BATCH: type[Batch] = create_model("Batch", __base__=Batch, __doc__=Batch.__doc__, **_FROM)
