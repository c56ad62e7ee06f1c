"""What the tests of editors share: a job with an error, the job corrected and formatted, and their environment."""

from __future__ import annotations

import os
import sysconfig
from pathlib import Path

JOB = """use "../shared/shop.flat"
use "../shared/sample.flat"

dog own_dog { across 19mm; height 11mm }

job demo from plain_top {
    cut {
        cutter fly_64
        stepovr 60%
        depth 0.5mm
    }
    hold {
        dog own_dog left at 25%, 75%
        dog own_dog front at 15%, 85%
        clamp side_cam right at 50%
        clamp side_cam back at 20%, 80%
    }
}
"""

#: corrected and formatted
TIDY = """use "../shared/shop.flat"
use "../shared/sample.flat"

dog own_dog { across 19mm; height 11mm }

job demo from plain_top {
    cut {
        cutter    fly_64
        stepover  60%
        depth     0.5mm
    }
    hold {
        dog    own_dog   left   at 25%, 75%
        dog    own_dog   front  at 15%, 85%
        clamp  side_cam  right  at 50%
        clamp  side_cam  back   at 20%, 80%
    }
}
"""

GOES_ON = """job demo from plain_top {
    survey {
        gap front_left 0.42mm, # the corner {
            front 0.15mm,

            back 0mm
        within 0.1mm
    }
    waive depth because "a } in a text, # and more {"
    cut { depth 0.5mm }
}
"""


def environment(folder: Path) -> dict[str, str]:
    """An editor's environment: `flatwise` on its PATH, and in $FLATWISE_SEEN the file that a driver writes."""
    path = f"{sysconfig.get_path('scripts')}{os.pathsep}{os.environ['PATH']}"
    return {**os.environ, "PATH": path, "FLATWISE_SEEN": str(folder / "seen.json")}
