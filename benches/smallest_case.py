"""The smallest case that the program knows, for sweeps whose number of rows is what matters."""

import json
import re
from pathlib import Path

REPOSITORY = Path(__file__).resolve().parent.parent
DAY = "2017-06-18"
GIVEN_ROOMS = """[house]
length = "50 ft"
width = "27 ft"
storeys = 1
ceiling_height = "8 ft"
rooms = "given"
rooms_temperature = "80 F"

"""


def smallest_case(folder):
    """Writes a house, the attic of the starter house under rooms of a given temperature, and the
    weather of one day; returns both paths."""
    starter = (REPOSITORY / "src/house/starter.toml").read_text()
    attic_alone = re.sub(r"(?ms)^\[house\]\n.*?(?=^\[roof\]\n)", lambda _: GIVEN_ROOMS, starter)
    house = folder / "house.toml"
    house.write_text(attic_alone)
    sample = (REPOSITORY / "weather-samples/delta-california-2017-summer.csv").read_text()
    lines = sample.splitlines()
    head = [line for line in lines if line.startswith("#")]
    names, *rows = [line for line in lines if not line.startswith("#")]
    first = next(at for at, row in enumerate(rows) if row.startswith(DAY.replace("-", "") + "0030"))
    weather = folder / "day.csv"
    weather.write_text("\n".join([*head, names, *rows[first : first + 48]]) + "\n")
    return house, weather


def design(number):
    """A design as a line of JSON, the same for the same number: Kronecker's sequence over four fields."""
    roots = (0.8566748838545029, 0.7338918566271260, 0.6287067210378087, 0.5385972572236101)
    share = [(number + 1) * root % 1.0 for root in roots]
    return json.dumps({
        "id": number,
        "fans.gable.count": int(9 * share[0]),
        "roof.absorptance": round(0.4 + 0.55 * share[1], 6),
        "ceiling.insulation": f"R-{11 + 38 * share[2]:.4f}",
        "barrier": {"place": ("none", "rafters", "floor")[int(3 * share[3])]},
    })
