"""The one recommended setting of a line for a size; every command takes it from here."""

from packsim.setting.line_setting import LineSetting, StageSetting
from packsim.setting.recommend import alternatives, recommend
