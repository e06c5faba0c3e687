"""Makes the reference colours beside this file with colour-science 0.4.7, which the tests themselves do not need.

    python -m venv colour && colour/bin/pip install "colour-science==0.4.7" scipy && colour/bin/python make_colour_values.py

It also prints the table of app/samelight/light/observer.py.
"""

import csv
from pathlib import Path

import colour
import numpy as np

HERE = Path(__file__).parent
MADE_WITH = f"colour-science {colour.__version__}"
OBSERVER = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
SPACES = {"rec709": "ITU-R BT.709", "acescg": "ACEScg", "rec2020": "ITU-R BT.2020"}
D65 = (0.3127, 0.3290)


def write(name: str, call: str, header: list[str], rows: list[list[object]]) -> None:
    with (HERE / name).open("w", newline="", encoding="utf-8") as file:
        file.write(f"# {MADE_WITH}: {call}\n")
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


def to_uv(xyz: object) -> list[float]:
    return [round(float(number), 7) for number in colour.xy_to_Luv_uv(colour.XYZ_to_xy(xyz))]


def planckian() -> None:
    kelvins = [
        500,
        600,
        700,
        800,
        900,
        1000,
        1100,
        1250,
        1500,
        1800,
        2000,
        2300,
        2700,
        2856,
        3000,
        3200,
        3600,
        4000,
        4300,
        5000,
        5600,
    ]
    kelvins += [
        6000,
        6500,
        7500,
        8000,
        9300,
        10000,
        12000,
        15000,
        18000,
        20000,
        25000,
        26000,
        40000,
        60000,
        100000,
    ]
    shape = colour.SpectralShape(360, 830, 1)
    rows: list[list[object]] = []
    for kelvin in kelvins:
        glow = colour.sd_blackbody(kelvin, shape)
        rows.append([kelvin, *to_uv(colour.sd_to_XYZ(glow, OBSERVER, method="Integration"))])
    write(
        "planckian.csv",
        "sd_to_XYZ(sd_blackbody(K, 360..830 nm at 1 nm), CIE 1931 2 degree, method='Integration'), CIE 1976 u'v'",
        ["kelvin", "u", "v"],
        rows,
    )


def correlated() -> None:
    rows: list[list[object]] = []
    for kelvin in (1500, 2000, 2700, 3200, 4000, 5000, 6500, 9000, 15000, 22000):
        for duv in (-0.02, -0.006, 0.0, 0.006, 0.02):
            u, v = (
                float(number)
                for number in colour.temperature.CCT_to_uv_Ohno2013([kelvin, duv], cmfs=OBSERVER)
            )
            rows.append([round(u, 7), round(v * 1.5, 7), kelvin, duv])
    write(
        "cct_duv.csv",
        "temperature.CCT_to_uv_Ohno2013([K, Duv]), as CIE 1976 u'v' (v' = 3/2 v)",
        ["u", "v", "kelvin", "duv"],
        rows,
    )


def chromaticities() -> None:
    generator = np.random.default_rng(2014)
    rows: list[list[object]] = []
    for name, title in SPACES.items():
        space = colour.RGB_COLOURSPACES[title]
        for rgb in [
            (1.0, 1.0, 1.0),
            (1.0, 0.0, 0.0),
            (0.0, 1.0, 0.0),
            (0.0, 0.0, 1.0),
            *generator.random((6, 3)),
        ]:
            linear = [round(float(channel), 4) for channel in rgb]
            xyz = colour.RGB_to_XYZ(
                linear, space, illuminant=np.array(D65), chromatic_adaptation_transform="Bradford"
            )
            own = colour.RGB_to_XYZ(linear, space)
            rows.append([name, *linear, *to_uv(xyz), round(float(own[1]), 6)])
    write(
        "chromaticity.csv",
        "RGB_to_XYZ(rgb, space, illuminant=(0.3127, 0.3290), 'Bradford') as CIE 1976 u'v'; Y without adaptation",
        ["space", "red", "green", "blue", "u", "v", "luminance"],
        rows,
    )


def observer() -> None:
    """The rows of app/samelight/light/observer.py."""
    for nm in range(360, 831, 5):
        print(f"    ({', '.join(repr(round(float(number), 12) + 0.0) for number in OBSERVER[nm])}),")


if __name__ == "__main__":
    planckian()
    correlated()
    chromaticities()
    observer()
