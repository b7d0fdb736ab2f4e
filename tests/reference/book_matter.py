"""What is booked, reactions, pH and rate factors, from the page "matter" of the chapter. Python 3 alone; see by_the_book.py."""

import json
import pathlib
from math import exp, inf, sqrt

R = 8.314462618
WEIGHTS = [12.011, 1.008, 15.999, 14.007]
# C, H, O, N
FORMULAS = {
    "water": (0, 2, 1, 0), "sugars": (6, 10, 5, 0), "fibre": (6, 10, 5, 0), "lignin": (10, 12, 4, 0), "protein": (16, 24, 5, 4),
    "bound_protein": (16, 24, 5, 4), "fat": (57, 104, 6, 0), "lactic_acid": (3, 6, 3, 0), "acetic_acid": (2, 4, 2, 0),
    "butyric_acid": (4, 8, 2, 0), "ethanol": (2, 6, 1, 0), "humus": (11, 14, 5, 1.1), "ammonia": (0, 3, 0, 1), "nitrate": (0, 1, 3, 1),
    "oxygen": (0, 0, 2, 0), "carbon_dioxide": (1, 0, 2, 0), "methane": (1, 4, 0, 0), "ammonia_gas": (0, 3, 0, 1),
    "nitrous_oxide": (0, 0, 1, 2), "dinitrogen": (0, 0, 0, 2), "hydrogen": (0, 2, 0, 0), "water_vapour": (0, 2, 1, 0),
}
COMPONENTS = [
    "water", "sugars", "fibre", "lignin", "protein", "bound_protein", "fat", "lactic_acid", "acetic_acid", "butyric_acid", "ethanol", "humus",
    "ammonia", "nitrate", "phosphorus", "potassium", "salt", "minerals",
]
ENTRIES = COMPONENTS + ["base", "buffer", "calcium"]
GASES = ["oxygen", "carbon_dioxide", "methane", "ammonia_gas", "nitrous_oxide", "dinitrogen", "hydrogen", "water_vapour"]
AT = {name: i for i, name in enumerate(ENTRIES)}
GAS_AT = {name: i for i, name in enumerate(GASES)}
SOLUBLE = ["lactic_acid", "acetic_acid", "butyric_acid", "ethanol"]
POOLS = ["sugars", "fibre", "lignin", "protein", "bound_protein", "fat", *SOLUBLE]


class Rates(dict):
    """Best estimates of the literature tables; remembers which were asked for."""

    def __init__(self):
        super().__init__()
        self.asked = {}
        tables = pathlib.Path(__file__).resolve().parents[2] / "src" / "literature"
        for table in ["fermentation", "bed", "worms"]:
            for file in [f"{table}.json", f"own_{table}.json"]:
                for row in json.loads((tables / file).read_text()):
                    self[f"{table}.{row['id']}"] = float(row["central"])

    def __getitem__(self, key):
        self.asked[key] = super().__getitem__(key)
        return self.asked[key]


class Molar:
    """Molar masses, kg/mol."""

    def __call__(self, name):
        return sum(n * weight for n, weight in zip(FORMULAS[name], WEIGHTS)) / 1000

    def atoms(self, name):
        return FORMULAS[name]

    def carbon(self, name):
        return FORMULAS[name][0] * WEIGHTS[0] / 1000 / self(name)


molar = Molar()


def empty():
    return [0.0] * len(ENTRIES)


def matter(**masses):
    m = empty()
    for name, mass in masses.items():
        m[AT[name]] = mass
    return m


def add(a, c, times=1.0):
    return [x + times * y for x, y in zip(a, c)]


def scaled(a, times):
    return [x * times for x in a]


def wet(m):
    return sum(m[: len(COMPONENTS)])


def dry(m):
    return wet(m) - m[0]


def moisture(m):
    return m[0] / wet(m) if wet(m) > 0 else 0.0


def nitrogen(m):
    return sum(m[AT[name]] * FORMULAS[name][3] * WEIGHTS[3] / 1000 / molar(name) for name in COMPONENTS if name in FORMULAS)


def clamp(x, low, high):
    return min(max(x, low), high)


def share_lost(x):
    return 1 - exp(-x)


def root(rising, low, high):
    """Zero of a function that rises from low to high."""
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (low, middle) if rising(middle) > 0 else (middle, high)
    return (low + high) / 2


def solve(columns, target):
    """Moles of the unknown species: elimination on four elements, which must all balance."""
    n = len(columns)
    lines = [[column[e] for column in columns] + [target[e]] for e in range(4)]
    for i in range(n):
        best = max(range(i, 4), key=lambda j: abs(lines[j][i]))
        lines[i], lines[best] = lines[best], lines[i]
        lines[i] = [x / lines[i][i] for x in lines[i]]
        for j in range(4):
            if j != i:
                lines[j] = [x - lines[j][i] * y for x, y in zip(lines[j], lines[i])]
    assert all(abs(lines[j][n]) < 1e-9 for j in range(n, 4)), (columns, target)
    return [lines[i][n] for i in range(n)]


def reaction(known, unknown):
    """Change of matter and gases per kilogram of the first known species."""
    target = [-sum(FORMULAS[name][e] * moles for name, moles in known.items()) for e in range(4)]
    moles = dict(known) | dict(zip(unknown, solve([FORMULAS[name] for name in unknown], target)))
    first = next(iter(known))
    change, gases = empty(), [0.0] * len(GASES)
    for name, n in moles.items():
        mass = n * molar(name) / (-known[first] * molar(first))
        if name in GAS_AT:
            gases[GAS_AT[name]] += mass
        else:
            change[AT[name]] += mass
    return change, gases


def burning(name):
    return reaction({name: -1}, ["oxygen", "carbon_dioxide", "water", "ammonia"])


def react(row, extent, m, gases):
    """Lets an extent, kg, of a row run in m and gases, which change."""
    for i, x in enumerate(row[0]):
        m[i] += extent * x
    for i, x in enumerate(row[1]):
        gases[i] += extent * x


class Acids:
    """Acid constants at a temperature (°C) and a carbon dioxide pressure (atm)."""

    def __init__(self, rates, celsius, pressure):
        self.pka = [rates[f"fermentation.{k}_acid_dissociation_constant"] for k in ["lactic", "acetic", "butyric"]]
        self.ammonium = rates["bed.ammonium_pka_constant"] + rates["bed.ammonium_pka_slope"] / (celsius + 273.15)
        k1, k2 = 10 ** -rates["bed.carbonic_acid_pka"], 10 ** -rates["bed.carbonic_acid_second_pka"]
        solubility = rates["bed.carbon_dioxide_solubility"]
        self.pressure, self.carbonate = pressure, solubility * pressure * k1
        self.k = 10 ** -rates["bed.calcite_solubility_product"] / (k1 * k2 * solubility * rates["bed.calcium_activity"])
        self.humus = rates["bed.humus_buffer"]

    def dissociated(self, acid, ph):
        return 1 / (1 + 10 ** (self.pka[acid] - ph))

    def free_ammonia(self, ph):
        return 1 / (1 + 10 ** (self.ammonium - ph))

    def bicarbonate(self, water, ph):
        return water * self.carbonate * 10**ph

    def calcium_share(self, m, ph):
        if self.pressure == 0 or m[AT["calcium"]] == 0:
            return 1.0
        most = 2 * m[0] * self.k * 10 ** (-2 * ph) / self.pressure
        return most / (most + m[AT["calcium"]])


def excess(m, ph, acids):
    """Anions less cations, eq."""
    mol = lambda name: m[AT[name]] / molar(name)
    anions = sum(mol(k) * acids.dissociated(i, ph) for i, k in enumerate(SOLUBLE[:3])) + mol("nitrate")
    anions += (m[AT["buffer"]] + acids.humus * m[AT["humus"]]) * (ph - 7) + m[0] * (acids.carbonate + 1e-14) * 10**ph
    cations = m[AT["base"]] + m[AT["calcium"]] * acids.calcium_share(m, ph) + mol("ammonia") * (1 - acids.free_ammonia(ph)) + m[0] * 10**-ph
    return anions - cations


def ph_of(m, acids):
    return root(lambda ph: excess(m, ph, acids), 0.0, 14.0)


def of_ph(m, ph, acids):
    """The same matter with the base for a pH."""
    m = m[:]
    m[AT["base"]] = 0.0
    m[AT["base"]] = excess(m, ph, acids)
    return m


def dissolved_ammonium(m, rates):
    humus = m[AT["humus"]]
    held = rates["bed.ammonium_partition_humus"] * humus + rates["bed.ammonium_partition_rest"] * (dry(m) - humus)
    return m[0] / (m[0] + held) if m[0] > 0 else 0.0


class Factors:
    """Factors of decay and the reach of oxygen."""

    def __init__(self, rates):
        self.rates = rates
        inside = rates["bed.oxygen_in_reached_layer"]
        self.oxygen = inside / (inside + rates["bed.decay_oxygen_half_saturation"])

    def temperature(self, t):
        rise, fall = self.rates["bed.decay_temperature_base_rise"], self.rates["bed.decay_temperature_base_fall"]
        return max(rise ** (t - 20) - fall ** (t - 60), 0)

    def moisture(self, w):
        return 1 / (1 + exp(self.rates["bed.decay_moisture_offset"] - self.rates["bed.decay_moisture_slope"] * w))

    def air_space(self, a):
        return 1 / (1 + exp(self.rates["bed.decay_air_space_offset"] - self.rates["bed.decay_air_space_slope"] * a))

    def porosity(self, solids, water, volume):
        if volume <= 0:
            return 0.0
        return clamp(1 - (solids / self.rates["bed.solid_density"] + water / 1000) / volume, 0, 1)

    def reach(self, a, uptake):
        if uptake <= 0:
            return inf
        d = self.rates["bed.oxygen_diffusivity_in_air"] * a ** (10 / 3) / self.rates["bed.layer_total_porosity"] ** 2
        return sqrt(2 * d * self.rates["bed.oxygen_in_air"] / uptake)


def vapour_density(t):
    return 611.2 * exp(17.62 * t / (243.12 + t)) * molar("water") / (R * (t + 273.15))


def save(name, content):
    path = pathlib.Path(__file__).parent / name
    path.write_text(json.dumps(content, indent=1) + "\n")
    print("wrote", path.name)
