#!/usr/bin/env python3
"""The network of a house by SciPy's LSODA with a right-hand side in NumPy, for the ratio.

The network is not copied by hand: `export` of `benches/rivals` writes it, with what drives it, the
instants of its switches, the exact course, and rates of change to hold this right-hand side to. Laws
that the demo's house as it stands has no use for are refused (fans, channels, ducts, plants).

    python3 -m venv venv && venv/bin/pip install numpy scipy
    cargo run --release --manifest-path benches/rivals/Cargo.toml --bin export -- "as it stands" network.json
    OMP_NUM_THREADS=1 venv/bin/python benches/scipy_ratio.py network.json --default-ms 20

Tried with SciPy 1.17.1 and NumPy 2.4.6. The ratio is against the CPU time of the default integrator for
the same march, which `rivals` prints.
"""

import argparse
import json
import sys
import time

import numpy as np
import scipy
from scipy.integrate import ode

SIGMA = 5.670_374_419e-8
GRAVITY = 9.806_65
PRANDTL_ROOT = 0.890_853_870_594_545_2
STANDARD_PA = 101_325.0
LEAST_DIFFERENCE_K = 0.1
FILM_BLEND_K = 0.5
LINEAR_BELOW_PA = 1e-6


def smoothstep(x):
    x = np.clip(x, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


def smooth_max(a, b):
    gap = a - b
    return 0.5 * (a + b + np.sqrt(gap * gap + a * b * 0.0025))


def conductivity(temp_k):
    x = temp_k - 300.0
    return (x * -3.944_98e-8 + 7.438_89e-5) * x + 2.638_398e-2


def viscosity(temp_k):
    x = temp_k - 300.0
    return (x * 1.072_66e-10 + 9.342_47e-8) * x + 1.574_973e-5


def rayleigh_scale(temp_k):
    x = temp_k - 300.0
    return (x * 4.341_19e-9 + 3.914_125e-5) * x + 1.017_831e-2


class Plates:
    """Natural convection on several plates at once."""

    def __init__(self, plates):
        column = lambda name: np.array([plate[name] for plate in plates])
        self.sign = np.copysign(1.0, column("up"))
        self.along = column("along").T
        self.unstable = column("unstable").T
        self.stable = column("stable")
        self.vertical_share = column("vertical_share")
        self.pressure_root = column("pressure_root")

    def natural(self, surface_k, air_k):
        difference = surface_k - air_k
        size = np.sqrt(difference * difference + LEAST_DIFFERENCE_K**2)
        film_k = 0.5 * (surface_k + air_k)
        fourth = np.sqrt(np.sqrt(size)) * self.pressure_root / rayleigh_scale(film_k)
        third = fourth * np.cbrt(fourth)
        along_root = np.sqrt(third) * self.along[1] + self.along[0]
        along = along_root * along_root
        level = smooth_max(third * self.unstable[0], fourth * self.unstable[1])
        unstable = smooth_max(along, level)
        stable = along * self.vertical_share + fourth * (self.stable * (1.0 - self.vertical_share))
        instability = smoothstep(difference * (self.sign / FILM_BLEND_K) + 0.5)
        return conductivity(film_k) * (stable + (unstable - stable) * instability)


def integers(values):
    return np.array(list(values), dtype=int)


def numbers(values):
    return np.array(list(values), dtype=float)


class House:
    """The right-hand side."""

    def __init__(self, document):
        network = document["network"]
        self.capacities = numbers(document["capacities_j_k"])
        self.size = len(self.capacities)
        forcing = document["forcing"]
        width = forcing["width"]
        self.edges = numbers(forcing["edges"]).reshape(-1, 2, width)
        self.part_s = forcing["part_s"]
        self.start_s = forcing["spans_s"][0][0]
        self.read_air(network["air"])
        self.read_links(network["links"])
        self.pressures = np.zeros(self.zones)

    # What is read.

    def read_air(self, air):
        for name in ("channels", "neighbours", "spill", "crawl"):
            if air[name]:
                sys.exit(f"{name} are not told here")
        self.lower, self.upper, self.living = air["lower"], air["upper"], air["living"]
        self.lower_share = air["lower_share"]
        self.interface_area = air["interface_area_m2"]
        self.section = air["attic_section_m2"]
        self.outdoor, self.humidity, self.pressure = air["outdoor"], air["humidity"], air["pressure"]
        self.zones = 2
        slot = lambda zone: self.zones if zone is None else zone
        self.path_from = integers(slot(path["from"]) for path in air["paths"])
        self.path_to = integers(slot(path["to"]) for path in air["paths"])
        pulls = air["pulls"]
        self.columns = numbers(pull["columns_m"] for pull in pulls)
        self.pull_airs = integers(pull["airs"] for pull in pulls).T
        self.upper_shares = numbers(pull["upper_shares"] for pull in pulls).T
        # Where there is no wind at an end, a pressure of nothing is read.
        self.winds = [
            (integers(at for at, pull in enumerate(pulls) if pull["winds"][end] is not None),
             integers(pull["winds"][end] for pull in pulls if pull["winds"][end] is not None))
            for end in (0, 1)
        ]
        ends = air["attic_ends"]
        self.end_path = integers(end["path"] for end in ends)
        self.end_outward = numbers(end["outward"] for end in ends)
        self.end_upper = numbers(end["upper"] for end in ends)
        self.end_height = numbers(end["height_m"] for end in ends)
        self.end_beyond = integers(self.size if end["beyond"] is None else end["beyond"] for end in ends)
        carriers = air["carriers"]
        node = lambda end: self.size if end is None else end
        self.carry_path = integers(carrier["path"] for carrier in carriers)
        self.carry_share = numbers(carrier["share"] for carrier in carriers)
        self.carry_from = integers(node(carrier["from"]) for carrier in carriers)
        self.carry_to = integers(node(carrier["to"]) for carrier in carriers)
        risers = air["risers"]
        self.riser_surface = integers(riser["surface"] for riser in risers)
        self.riser_area = numbers(riser["area_m2"] for riser in risers)
        self.riser_plates = Plates([riser["plate"] for riser in risers])
        # One's own place for what the surroundings are: an end that is no store.
        self.beyond = self.size

    def set_elements(self, elements):
        kind = [element["is"] if isinstance(element, dict) else element for element in elements]
        unknown = set(kind) - {"Orifice", "Crack", "Shut"}
        if unknown:
            sys.exit(f"paths of {unknown} are not told here")
        at = lambda name: integers(i for i, one in enumerate(kind) if one == name)
        self.orifices, self.cracks = at("Orifice"), at("Crack")
        self.orifice_area = numbers(elements[i]["cd_area_m2"] for i in self.orifices)
        self.crack_flow = numbers(elements[i]["flow_at_1_pa_m3_s"] for i in self.cracks)
        self.crack_exponent = numbers(elements[i]["exponent"] for i in self.cracks)

    def read_links(self, links):
        by_law = {}
        for link in links:
            law = link["law"]
            law, values = (law, {}) if isinstance(law, str) else (law["is"], law)
            end = lambda name: self.size if link["ends"][name] is None else link["ends"][name]
            by_law.setdefault(law, []).append((end("from"), end("to"), values))
        known = {"Conduct", "Insulate", "Radiate", "Film", "OuterFilm", "Longwave", "RoofSun", "Gain", "ToBoundary",
                 "Carry", "RiseToLower", "RiseToUpper", "Interface", "AirMeter"}
        if set(by_law) - known:
            sys.exit(f"{set(by_law) - known} are not told here")
        order = ["Conduct", "Insulate", "Radiate", "Film", "OuterFilm", "Longwave", "RoofSun", "Gain", "ToBoundary",
                 "Carry", "RiseToLower", "RiseToUpper", "Interface"]
        links = {law: by_law.get(law, []) for law in order}
        ends = [(a, b) for law in order for a, b, _ in links[law]]
        self.all_from = integers(a for a, _ in ends)
        self.all_to = integers(b for _, b in ends)
        pick = lambda law, name: [values[name] for _, _, values in links[law]]
        ends_of = lambda law: (integers(a for a, _, _ in links[law]), integers(b for _, b, _ in links[law]))
        self.conduct = (*ends_of("Conduct"), numbers(pick("Conduct", "w_k")))
        insulating = pick("Insulate", "by")
        self.insulate = (*ends_of("Insulate"), numbers(by["at_zero_w_k"] for by in insulating),
                         numbers(by["half_slope_w_k2"] for by in insulating))
        self.radiate = (*ends_of("Radiate"), numbers(pick("Radiate", "area_m2")))
        films = pick("Film", "film")
        self.film = ends_of("Film")
        self.film_area = numbers(pick("Film", "area_m2"))
        self.film_plates = Plates([film["plate"] for film in films])
        self.film_length = numbers(film["length_m"] for film in films)
        self.film_forced = integers(i for i, speed in enumerate(pick("Film", "speed")) if speed == "Attic")
        outer = pick("OuterFilm", "film")
        self.outer = ends_of("OuterFilm")[0]
        self.outer_area = numbers(pick("OuterFilm", "area_m2"))
        self.outer_plates = Plates([film["plate"] for film in outer])
        self.outer_length = numbers(film["length_m"] for film in outer)
        self.outer_factor = numbers(film["forced"][0] for film in outer)
        self.outer_exponent = numbers(film["forced"][1] for film in outer)
        shares = pick("OuterFilm", "shares")
        self.outer_natural_share = numbers(share["natural"] for share in shares)
        self.outer_forced_share = numbers(share["forced"] for share in shares)
        self.outer_pressure = numbers(film["pressure_ratio"] for film in outer)
        self.outer_wind = integers(pick("OuterFilm", "wind"))
        self.outer_air = integers(pick("OuterFilm", "outdoor"))
        self.longwave = (ends_of("Longwave")[0], numbers(pick("Longwave", "emitting_m2")),
                         integers(pick("Longwave", "incoming")))
        self.roof_sun = [integers(pick("RoofSun", name)) for name in ("sun", "snow_cover", "past_snow")]
        self.roof_area = numbers(pick("RoofSun", "area_m2"))
        self.roof_absorptance = numbers(pick("RoofSun", "absorptance"))
        self.gain = (integers(pick("Gain", "input")), numbers(pick("Gain", "scale")))
        self.boundary = (ends_of("ToBoundary")[0], numbers(pick("ToBoundary", "w_k")),
                         integers(pick("ToBoundary", "temp")))
        self.carry_order = integers(pick("Carry", "carrier"))
        self.rise_lower = integers(pick("RiseToLower", "riser"))
        self.rise_upper = integers(pick("RiseToUpper", "riser"))

    # What is worked out.

    def inputs(self, time_s):
        position = (time_s - self.start_s) / self.part_s
        part = min(max(int(position), 0), len(self.edges) - 1)
        first, last = self.edges[part]
        return first + (last - first) * (position - part)

    def density(self, inputs, temp_k):
        humidity = inputs[self.humidity]
        return (inputs[self.pressure] * (humidity + 1.0)
                / (temp_k * (humidity * 1.607_858 + 1.0) * 287.055))

    def path_flows(self, pressure, density_from, density_to):
        flows, slopes = np.zeros_like(pressure), np.zeros_like(pressure)
        density = np.where(pressure > 0.0, density_from, density_to)
        square = pressure * pressure + LINEAR_BELOW_PA**2
        at = self.orifices
        scale = np.sqrt(density[at] * 2.0) * self.orifice_area
        factor = 1.0 / np.sqrt(np.sqrt(square[at]))
        flows[at] = scale * pressure[at] * factor
        slopes[at] = scale * factor * (1.0 - 0.5 * pressure[at] ** 2 / square[at])
        at = self.cracks
        scale = density[at] * self.crack_flow
        factor = square[at] ** (0.5 * (self.crack_exponent - 1.0))
        flows[at] = scale * pressure[at] * factor
        slopes[at] = scale * factor * (1.0 + (self.crack_exponent - 1.0) * pressure[at] ** 2 / square[at])
        return flows, slopes

    def air_flows(self, drive, density_from, density_to):
        """Newton's method on the zones' pressures, with steps that overshoot halved."""
        zones = self.zones
        last_step = np.zeros(zones)
        last_worst = np.inf
        for _ in range(200):
            levels = np.append(self.pressures, 0.0)
            flows, slopes = self.path_flows(
                drive + levels[self.path_from] - levels[self.path_to], density_from, density_to)
            net = (np.bincount(self.path_to, flows, zones + 1)
                   - np.bincount(self.path_from, flows, zones + 1))
            worst = np.abs(net[:zones]).max()
            if worst < 1e-12 * (1e-3 + np.abs(flows).sum()):
                return flows
            if worst > last_worst:
                last_step = 0.5 * last_step
                self.pressures = self.pressures - last_step
                continue
            matrix = np.zeros((zones + 1, zones + 1))
            np.add.at(matrix, (self.path_from, self.path_from), slopes)
            np.add.at(matrix, (self.path_to, self.path_to), slopes)
            np.add.at(matrix, (self.path_from, self.path_to), -slopes)
            np.add.at(matrix, (self.path_to, self.path_from), -slopes)
            last_step = np.linalg.solve(matrix[:zones, :zones], net[:zones])
            last_worst = worst
            self.pressures = self.pressures + last_step
        if worst < 1e-9:
            return flows
        raise ArithmeticError(f"the air is {worst} kg/s off")

    def rates(self, time_s, state):
        inputs = self.inputs(time_s)
        outdoor_k, humidity = inputs[self.outdoor], inputs[self.humidity]
        # With outdoors as one more store that is only read.
        temps = np.append(state, outdoor_k)
        lower_k, upper_k, living_k = state[self.lower], state[self.upper], state[self.living]
        outside, lower, upper, living = self.density(
            inputs, np.array([outdoor_k, lower_k, upper_k, living_k]))
        densities = np.array([outside, lower, upper, living, outside])
        drive = self.columns @ ((outside - np.array([lower, upper, living, outside])) * GRAVITY)
        for sign, (paths, winds) in zip((1.0, -1.0), self.winds):
            drive[paths] += sign * inputs[winds]
        density_from, density_to = (
            densities[airs] + (upper - lower) * shares
            for airs, shares in zip(self.pull_airs, self.upper_shares))
        mass = self.air_flows(drive, density_from, density_to)
        heat_capacity = (1006.0 + 1860.0 * humidity) / (humidity + 1.0)

        flow = mass[self.carry_path] * heat_capacity * self.carry_share
        carried = (np.maximum(flow, 0.0) * (temps[self.carry_from] - outdoor_k) * (self.carry_from < self.size)
                   + np.minimum(flow, 0.0) * (temps[self.carry_to] - outdoor_k) * (self.carry_to < self.size))

        surface_k = state[self.riser_surface]
        film_w_k = self.riser_plates.natural(surface_k, lower_k) * self.riser_area
        risen_w = film_w_k * (surface_k - lower_k)
        share = (smoothstep((lower_k + 0.4 * (surface_k - lower_k) - upper_k) / 0.5 + 0.5)
                 * smoothstep((surface_k - lower_k) / 0.5))
        rising = (share * film_w_k).sum() / (heat_capacity * 0.4)

        out = mass[self.end_path] * self.end_outward
        inflow = np.maximum(-out, 0.0)
        through = inflow.sum()
        leaving = (np.maximum(out, 0.0) * self.end_upper).sum()
        arriving_k = temps[self.end_beyond]
        falls = smoothstep((upper_k - arriving_k) / 0.5)
        entering = (inflow * (1.0 - falls) * self.end_upper).sum()
        volume = np.maximum(inflow / lower, 1e-9)
        colder = np.maximum(upper_k - arriving_k, 1e-3)
        strength = np.cbrt(volume * colder / upper_k * GRAVITY) * 0.15
        reach = (volume / strength) ** 0.6 + self.end_height
        dropped = strength * reach * np.cbrt(reach) ** 2 - volume
        drags = (self.end_upper > 0.0) & (inflow > 0.0) & (self.end_height > 0.0)
        dragged = (np.maximum(dropped, 0.0) * lower * falls)[drags].sum()
        net_up = leaving + dragged - rising - entering
        up = (max(net_up, 0.0) + rising) * heat_capacity
        down = (max(-net_up, 0.0) + dragged) * heat_capacity
        mixing = self.interface_area * (20.0 * smoothstep((lower_k - upper_k) / 0.3) + 0.1)
        interface_w = up * (lower_k - outdoor_k) - down * (upper_k - outdoor_k) + mixing * (lower_k - upper_k)
        speed = through / (self.section * lower)

        emission = SIGMA * temps**4
        a, b, w_k = self.conduct
        conducted = w_k * (temps[a] - temps[b])
        # Above -80 °C, where the engine's straight line ends.
        a, b, at_zero, half_slope = self.insulate
        insulated = (at_zero + half_slope * (temps[a] + temps[b])) * (temps[a] - temps[b])
        a, b, area = self.radiate
        radiated = area * (emission[a] - emission[b])
        a, b = self.film
        film = self.film_plates.natural(temps[a], temps[b])
        at = self.film_forced
        film_k = 0.5 * (temps[a[at]] + temps[b[at]])
        reynolds = speed * self.film_length[at] / viscosity(film_k)
        turbulent = 0.037 * reynolds**0.8
        forced = (conductivity(film_k) * np.sqrt(reynolds * 0.664**2 + turbulent**2) * PRANDTL_ROOT
                  / self.film_length[at])
        film[at] = np.cbrt(film[at] ** 3 + forced**3)
        convected = self.film_area * film * (temps[a] - temps[b])
        skin_k, air_k, wind = temps[self.outer], inputs[self.outer_air], inputs[self.outer_wind]
        film_k = 0.5 * (skin_k + air_k)
        reynolds = wind * self.outer_length / (viscosity(film_k) / self.outer_pressure)
        forced = conductivity(film_k) * reynolds**self.outer_exponent * self.outer_factor
        size = np.sqrt((skin_k - air_k) ** 2 + LEAST_DIFFERENCE_K**2)
        log = np.log1p(size / film_k * (9.806_65 * self.outer_length) / (wind * wind + 1e-4))
        natural = self.outer_plates.natural(skin_k, air_k)
        film = natural * log / (log + 1.0) * self.outer_natural_share + forced * self.outer_forced_share
        outer = self.outer_area * film * (skin_k - air_k)
        a, area, incoming = self.longwave
        longwave = area * (emission[a] - inputs[incoming])
        sun, snow_cover, past_snow = (inputs[source] for source in self.roof_sun)
        hidden = (0.3 - self.roof_absorptance) * snow_cover
        on_roof = sun * self.roof_area * (self.roof_absorptance + hidden) * past_snow
        source, scale = self.gain
        gained = inputs[source] * scale
        a, w_k, temp = self.boundary
        lost = w_k * (temps[a] - inputs[temp])
        flows = np.concatenate([
            conducted, insulated, radiated, convected, outer, longwave, on_roof, gained, lost, carried[self.carry_order],
            (risen_w * (1.0 - share))[self.rise_lower], (risen_w * share)[self.rise_upper], [interface_w]])
        size = self.size
        net = (np.bincount(self.all_to, flows, size + 1) - np.bincount(self.all_from, flows, size + 1))
        return net[:size] / self.capacities


def check(house, document):
    """Largest difference from the rates that the engine gives, against the largest of each state."""
    worst = 0.0
    for one in document["checks"]:
        house.set_elements(document["segments"][one["segment"]]["elements"])
        found = house.rates(one["time_s"], numbers(one["state_k"]))
        exact = numbers(one["rates"])
        scale = np.abs(exact).max() * 1e-3
        worst = max(worst, (np.abs(found - exact) / np.maximum(np.abs(exact), scale)).max())
    return worst


def march(house, document, tolerance):
    """The course at the ends of the short intervals by LSODA, and its evaluations."""
    ends = document["ends_s"]
    state = numbers(document["start_k"])
    course, evaluations = [], 0

    def counted(time_s, state):
        nonlocal evaluations
        evaluations += 1
        return house.rates(time_s, state)

    for segment in document["segments"]:
        from_s, to_s = segment["span_s"]
        house.set_elements(segment["elements"])
        wanted = [end for end in ends[len(course):] if end <= to_s + 1e-9]
        if to_s - from_s < 1e-3:
            course += [state] * len(wanted)
            continue
        solver = ode(counted).set_integrator("lsoda", rtol=tolerance, atol=tolerance, nsteps=10**7)
        solver.set_initial_value(state, from_s)
        for end in wanted:
            # What it hands over is its own and changes.
            state = solver.integrate(end).copy() if end > solver.t else state
            course.append(state)
        if to_s > solver.t:
            state = solver.integrate(to_s).copy()
        if not solver.successful():
            raise ArithmeticError(f"LSODA stopped at {solver.t} s")
    return np.array(course), evaluations


def main():
    about = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    about.add_argument("network", help="file that `export` wrote")
    about.add_argument("--default-ms", type=float, help="CPU of the default integrator, for the ratio")
    about.add_argument("--tolerance", type=float, nargs="*", default=[1e-4, 1e-5])
    given = about.parse_args()
    with open(given.network) as file:
        document = json.load(file)
    house = House(document)
    worst = check(house, document)
    print(f"{document['design']}: {house.size} stores, {len(document['checks'])} states checked, "
          f"rates at most {worst:.1e} apart")
    if worst > 1e-9:
        sys.exit("this is not the same right-hand side")
    attic = document["attic"]
    air = lambda course: (course[:, attic["lower"]] * attic["lower_share"]
                          + course[:, attic["upper"]] * (1.0 - attic["lower_share"]))
    exact = air(np.array(document["exact_k"]))
    print(f"SciPy {scipy.__version__}, NumPy {np.__version__}")
    for tolerance in given.tolerance:
        before = time.process_time()
        course, evaluations = march(house, document, tolerance)
        cpu_s = time.process_time() - before
        apart_k = np.abs(air(course) - exact).max()
        ratio = "" if given.default_ms is None else f", {1e3 * cpu_s / given.default_ms:.0f} times the default"
        print(f"LSODA {tolerance:g}: {cpu_s:.2f} s of CPU, {evaluations} evaluations of "
              f"{1e6 * cpu_s / evaluations:.0f} us, attic air at most {apart_k:.4f} K off{ratio}")


if __name__ == "__main__":
    main()
