"""What a user carries away from a panel: calculation, figure, numbers and files, by clicks."""

import pytest

from airover.app.bearing_panel import BearingPanel
from airover.app.export import FILES, CarryAway
from airover.app.fan_panel import FanPanel
from airover.app.heat_panel import HeatPanel
from airover.app.motor_panel import MotorPanel
from airover.app.proposal_panel import ProposalPanel
from airover.app.replacement import ReplacementPanel
from airover.app.verify_panel import VerifyPanel

STARTS = {
    "report": b"%PDF", "workbook": b"PK", "html": b"<!DOCTYPE html>", "picture_svg": b"<?xml",
    "picture_png": b"\x89PNG",
}  # fmt: skip


def carried(base):
    """A panel of ``base`` whose answer can be carried away."""
    if issubclass(base, CarryAway):
        return base()
    return type(base.__name__, (CarryAway, base), {})()


@pytest.fixture(scope="module", params=[ReplacementPanel, MotorPanel, FanPanel, HeatPanel])
def panel(request):
    return carried(request.param)


def test_a_panel_has_calculation_figure_and_numbers(panel):
    assert panel.calculation.sections
    assert panel.figure.get_size_inches()[0] == 7.0
    medians = panel.results.iloc[:, 3]
    assert medians.dtype == float and medians.notna().all()


def test_each_button_writes_its_file(tmp_path):
    panel = carried(BearingPanel)
    panel.export_part()
    panel.export.folder.value = str(tmp_path / "new")
    panel.export.prepared.value = "A. Nother"
    for name, button in panel.export.buttons.items():
        button.click()
        (path,) = (tmp_path / "new").glob(f"*.{FILES[name][0]}")
        assert path.read_bytes().startswith(STARTS[name])
        assert path.name in panel.export.told.value
    assert path.name == "bearings-demo-a-005.png"
    button.click()
    assert "replaces" in panel.export.told.value


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    panel = carried(FanPanel)
    panel.export_part()
    (tmp_path / "file").write_text("")
    panel.export.folder.value = str(tmp_path / "file" / "below")
    panel.export.buttons["picture_svg"].click()
    assert "ao-problem" in panel.export.told.value
    panel.answer = None
    panel.export.buttons["report"].click()
    assert "no answer" in panel.export.told.value


def test_tables_of_a_panel_are_also_numbers():
    spans = {
        "temperatures": HeatPanel().sheets["temperatures"],
        "lives": BearingPanel().sheets["bearing life"],
        "costs": ProposalPanel().results,
    }
    for table in spans.values():
        assert (table["low (5 %)"] <= table["median"]).all()
        assert (table["median"] <= table["high (95 %)"]).all()
    hot = spans["temperatures"].set_index("quantity")["median"]
    assert hot["Air temperature at the motor"] < hot["Shell temperature"] < hot["Hottest spot"]
    assert spans["lives"]["fails first"].sum() == pytest.approx(2)  # of each kind, all fail
    readings = VerifyPanel().results
    assert set(readings["unit"]) >= {"V", "A", "W"}
    assert readings["entered"].dtype == float
