import pytest
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")
from driving import *
@pytest.mark.parametrize("i", range(5))
def test_a(driver, i):
    driver.open_outlines(bare_sample())
    driver.zoom_to((938, 80), 4.0)
    print(driver.canvas.size(), driver.canvas.view, driver.window.isActiveWindow())
def test_b(driver):
    driver.open(SAMPLES/"marsh-harrow-52.sternpost")
