"""The drawing libraries read no configuration file of a person: neither of the folder nor of the home."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DRAW = """
from woodshop.drawing.pens.dxf import write_dxf
from woodshop.drawing.pens.dxf import _form
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values import model
_form("R2010", "in")
print(len(write_pdf(model.Document("a title", "a subject", (model.Section("", (model.Heading("a heading"),)),)))))
"""


def test_no_configuration_file_is_read(tmp_path: Path) -> None:
    (tmp_path / ".config/ezdxf").mkdir(parents=True)
    for name in ("ezdxf.ini", ".config/ezdxf/ezdxf.ini", "named.ini"):
        (tmp_path / name).write_bytes(b"\xff\xfegarbage\n[core\nDEFAULT_DIMENSION_TEXT_STYLE")
    for name in (".reportlab_settings", "reportlab_settings.py"):
        (tmp_path / name).write_text("raise SystemExit(9)\n")
    environment = os.environ | {"HOME": str(tmp_path), "PYTHONPATH": str(ROOT), "PYTHONSAFEPATH": ""}
    environment |= {"EZDXF_CONFIG_FILE": str(tmp_path / "named.ini")}
    environment.pop("XDG_CONFIG_HOME", None)
    done = subprocess.run(
        [sys.executable, "-c", DRAW], cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=120
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert int(done.stdout) > 0
