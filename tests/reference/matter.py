"""Matter, reactions and acidity, coded a second time from the equations: shared by the scripts beside it.

Nothing here is taken from the Rust sources but the names of components and the order of the booked vector; rates are read
from the literature tables.
"""

import json
import pathlib

import numpy as np
from scipy.optimize import brentq

ROOT = pathlib.Path(__file__).resolve().parents[2]
WEIGHTS = {"C": 12.011, "H": 1.008, "O": 15.999, "N": 14.007}
# C, H, O, N atoms of what is booked with a formula
FORMULAS = {
    "water": (0, 2, 1, 0),
    "sugars": (6, 10, 5, 0),
    "fibre": (6, 10, 5, 0),
    "lignin": (10, 12, 4, 0),
    "protein": (16, 24, 5, 4),
    "bound_protein": (16, 24, 5, 4),
    "fat": (57, 104, 6, 0),
    "lactic_acid": (3, 6, 3, 0),
    "acetic_acid": (2, 4, 2, 0),
    "butyric_acid": (4, 8, 2, 0),
    "ethanol": (2, 6, 1, 0),
    "humus": (11, 14, 5, 1.1),
    "ammonia": (0, 3, 0, 1),
    "nitrate": (0, 1, 3, 1),
    "oxygen": (0, 0, 2, 0),
    "carbon_dioxide": (1, 0, 2, 0),
    "methane": (1, 4, 0, 0),
    "ammonia_gas": (0, 3, 0, 1),
    "nitrous_oxide": (0, 0, 1, 2),
    "dinitrogen": (0, 0, 0, 2),
    "hydrogen": (0, 2, 0, 0),
    "water_vapour": (0, 2, 1, 0),
}
COMPONENTS = [
    "water", "sugars", "fibre", "lignin", "protein", "bound_protein", "fat", "lactic_acid", "acetic_acid", "butyric_acid",
    "ethanol", "humus", "ammonia", "nitrate", "phosphorus", "potassium", "salt", "minerals",
]
GASES = ["oxygen", "carbon_dioxide", "methane", "ammonia_gas", "nitrous_oxide", "dinitrogen", "hydrogen", "water_vapour"]
SOLUBLE = ["lactic_acid", "acetic_acid", "butyric_acid", "ethanol"]
POOLS = ["sugars", "fibre", "lignin", "protein", "bound_protein", "fat", *SOLUBLE]
# the booked vector: components, base (eq), buffer (eq per pH unit), calcium (eq)
ENTRIES = COMPONENTS + ["base", "buffer", "calcium"]
AT = {name: i for i, name in enumerate(ENTRIES)}
GAS_AT = {name: i for i, name in enumerate(GASES)}


def molar_mass(name):
    """kg/mol"""
    return sum(n * w for n, w in zip(FORMULAS[name], WEIGHTS.values())) / 1000


class Rates(dict):
    """Central values of the literature tables; remembers which were asked for."""

    def __init__(self):
        super().__init__()
        self.asked = {}
        for table in ["fermentation", "bed", "worms", "site", "feedstocks"]:
            for file in [f"{table}.json", f"own_{table}.json"]:
                path = ROOT / "src" / "literature" / file
                if path.exists():
                    for row in json.loads(path.read_text()):
                        self[f"{table}.{row['id']}"] = float(row["central"])

    def __getitem__(self, key):
        value = super().__getitem__(key)
        self.asked[key] = value
        return value


def reaction(known, unknown):
    """Moles of `known` (negative: used up) with `unknown` solved from C, H, O, N; as masses per kilogram of the first known."""
    first = next(iter(known))
    target = -sum(np.array(FORMULAS[name], float) * moles for name, moles in known.items())
    columns = np.array([FORMULAS[name] for name in unknown], float).T
    solved, *_ = np.linalg.lstsq(columns, target, rcond=None)
    assert np.allclose(columns @ solved, target, atol=1e-12), (known, unknown)
    moles = dict(known) | dict(zip(unknown, solved))
    scale = 1 / (-known[first] * molar_mass(first))
    matter, gases = np.zeros(len(ENTRIES)), np.zeros(len(GASES))
    for name, n in moles.items():
        mass = n * molar_mass(name) * scale
        if name in GAS_AT:
            gases[GAS_AT[name]] += mass
        else:
            matter[AT[name]] += mass
    return matter, gases


class Acids:
    """Acid constants at one temperature and carbon dioxide pressure."""

    def __init__(self, rates, celsius, carbon_dioxide):
        names = ["lactic", "acetic", "butyric"]
        self.acids = [10 ** rates[f"fermentation.{name}_acid_dissociation_constant"] for name in names]
        pka = rates["bed.ammonium_pka_constant"] + rates["bed.ammonium_pka_slope"] / (celsius + 273.15)
        self.ammonium = 10**-pka
        solubility = rates["bed.carbon_dioxide_solubility"]
        first, second = (10 ** -rates[f"bed.{key}"] for key in ["carbonic_acid_pka", "carbonic_acid_second_pka"])
        self.carbonate = solubility * carbon_dioxide * first
        # carbonate ions over 1/[H+]^2, and the calcium (eq/L) that calcite leaves beside them times 1/[H+]^2
        ions = solubility * carbon_dioxide * first * second
        product = 10 ** -rates["bed.calcite_solubility_product"]
        self.calcium_limit = 2 * product / (rates["bed.calcium_activity"] * ions) if carbon_dioxide > 0 else np.inf
        self.humus = rates["bed.humus_buffer"]

    def dissolved_calcium(self, m, ph):
        """Calcium in solution, eq: less than what there is and less than what calcite allows."""
        most = m[0] * self.calcium_limit * 10 ** (-2 * ph)
        calcium = m[AT["calcium"]]
        return calcium if most == np.inf or calcium == 0 else calcium * most / (calcium + most)

    def excess(self, m, ph):
        """Anions less cations, eq."""
        h = 10**-ph
        moles = lambda name: m[AT[name]] / molar_mass(name)
        buffer = m[AT["buffer"]] + self.humus * m[AT["humus"]]
        value = moles("nitrate") + buffer * (ph - 7) - m[AT["base"]] - self.dissolved_calcium(m, ph) - m[0] * h
        for name, inverse in zip(["lactic_acid", "acetic_acid", "butyric_acid"], self.acids):
            value += moles(name) / (1 + inverse * h)
        value -= moles("ammonia") * h / (h + self.ammonium)
        return value + m[0] * (self.carbonate + 1e-14) / h

    def ph(self, m):
        return brentq(lambda ph: self.excess(m, ph), 0, 14, xtol=1e-13, rtol=1e-14)

    def with_ph(self, m, ph):
        """The same matter with the base that gives it a pH."""
        m = m.copy()
        m[AT["base"]] += self.excess(m, ph)
        return m

    def free_ammonia(self, ph):
        return self.ammonium / (self.ammonium + 10**-ph)


def matter(**masses):
    m = np.zeros(len(ENTRIES))
    for name, mass in masses.items():
        m[AT[name]] = mass
    return m


def wet(m):
    return m[: len(COMPONENTS)].sum()


def dry(m):
    return wet(m) - m[0]


def save(name, content):
    path = pathlib.Path(__file__).parent / name
    path.write_text(json.dumps(content, indent=1) + "\n")
    print("wrote", path)
