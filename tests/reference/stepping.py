"""The equations of a bed and of a drum, coded anew, solved to 1e-10. Run: python stepping.py (writes stepping.json).

Bed: three layers without worms or feeding, 1 m2, 10 days; decay, humus, nitrogen, conditioning, evaporation, drainage and heat
as written in the documentation of process::composting, aeration, acidity and ammonium and of unit::bed. Drum: the course on
its temperature-weighted clock with late conversion of lactic acid. Also a drying layer and the air of a store room.
"""

import platform

import numpy as np
import scipy
from matter import AT, ENTRIES, FORMULAS, GASES, GAS_AT, POOLS, SOLUBLE, Acids, Rates, dry, matter, molar_mass, reaction, save, wet
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

CALL = "scipy.integrate.solve_ivp(method='DOP853', rtol=1e-10, atol=1e-12)"
DAY = 86400.0


def solve(f, span, y, max_step=np.inf):
    out = solve_ivp(f, span, y, method="DOP853", rtol=1e-10, atol=1e-12, max_step=max_step)
    assert out.success, out.message
    return out.y[:, -1]


class BedEquations:
    area, room, humidity, wetness = 1.0, 20.0, 0.95, 0.5

    def __init__(self, rates):
        bed = lambda key: rates[f"bed.{key}"]
        self.rates, self.bed = rates, bed
        slow = bed("decay_rate_readily_degradable")
        self.k = dict(zip(POOLS, [
            slow, bed("decay_rate_hemicellulose_and_cellulose"), bed("decay_rate_lignin"), bed("decay_rate_protein"),
            bed("decay_rate_hemicellulose_and_cellulose"), bed("decay_rate_lipid"), slow, slow, slow, slow,
        ]))
        self.burn = {p: reaction({p: -1}, ["oxygen", "carbon_dioxide", "water", "ammonia"]) for p in POOLS + ["humus"]}
        kept = bed("carbon_retained_in_humified_pool")
        self.row = {}
        for pool in POOLS:
            carbon = FORMULAS[pool][0]
            keep = reaction({pool: -1, "humus": carbon / 11}, ["oxygen", "water", "ammonia"])
            self.row[pool] = tuple((1 - kept) * a + kept * b for a, b in zip(self.burn[pool], keep))
        products = ["methane", "carbon_dioxide", "water"]
        self.methane = {p: reaction({p: -1}, products) for p in ["sugars", "fibre"]}
        self.nitrify = reaction({"ammonia": -1, "nitrate": 1}, ["oxygen", "water"])
        self.nitrify_n2o = reaction({"ammonia": -1, "nitrous_oxide": 0.5}, ["oxygen", "water"])
        burned = ["carbon_dioxide", "water"]
        self.denitrify = reaction({"nitrate": -1, "dinitrogen": 0.5, "fibre": -5 / 24}, burned)
        self.denitrify_n2o = reaction({"nitrate": -1, "nitrous_oxide": 0.5, "fibre": -4 / 24}, burned)
        self.volatilise = reaction({"ammonia": -1, "ammonia_gas": 1}, ["water"])

    def temperature_factor(self, celsius):
        rise, fall = self.bed("decay_temperature_base_rise"), self.bed("decay_temperature_base_fall")
        return max(rise ** (celsius - 20) - fall ** (celsius - 60), 0.0)

    def moisture_factor(self, share):
        return 1 / (1 + np.exp(self.bed("decay_moisture_offset") - self.bed("decay_moisture_slope") * share))

    def vapour(self, celsius):
        """Density of saturated vapour, kg/m3."""
        pressure = 611.2 * np.exp(17.62 * celsius / (243.12 + celsius))
        return pressure * molar_mass("water") / (8.314462618 * (celsius + 273.15))

    def dissolved(self, m):
        """Share of ammonium that the water holds; humus and the rest of the dry matter hold what is left."""
        humus, water = m[AT["humus"]], m[0]
        held = self.bed("ammonium_partition_humus") * humus + self.bed("ammonium_partition_rest") * (dry(m) - humus)
        return water / (water + held)

    def let_through(self, volume):
        """Part of the ammonia from below that a layer lets through."""
        thickness = volume / self.area
        return 1 - (1 - self.bed("ammonia_transfer_cover_factor")) * min(thickness / self.bed("ammonia_cover_layer"), 1)

    def capacity(self, m, volume):
        """Water of a drained layer: what is neither solid nor the air of drained pores."""
        return 1000 * (volume * (1 - self.bed("drained_air")) - dry(m) / self.bed("solid_density"))

    def decay(self, m, volume, cover, celsius, acids, factor):
        """Change of a layer per day, gases per day, share aired."""
        bed, ph = self.bed, acids.ph(m)
        porosity = np.clip(1 - (dry(m) / bed("solid_density") + m[0] / 1000) / volume, 0, 1)
        space = 1 / (1 + np.exp(bed("decay_air_space_offset") - bed("decay_air_space_slope") * porosity))
        # no worms: no layer is worked
        rate = factor * self.moisture_factor(m[0] / wet(m)) * space
        inside = bed("oxygen_in_reached_layer")
        monod = inside / (inside + bed("decay_oxygen_half_saturation"))
        demand = sum(self.k[p] * -self.row[p][1][GAS_AT["oxygen"]] * m[AT[p]] for p in POOLS)
        uptake = demand * rate * monod / (volume * DAY)
        diffusivity = bed("oxygen_diffusivity_in_air") * porosity ** (10 / 3) / bed("layer_total_porosity") ** 2
        reach = np.sqrt(2 * diffusivity * bed("oxygen_in_air") / uptake)
        aired = min(reach * self.area / volume, 1.0)
        speed = rate * monod * aired
        change, gases = np.zeros(len(ENTRIES)), np.zeros(len(GASES))

        def run(extent, row):
            nonlocal change, gases
            change = change + extent * row[0]
            gases = gases + extent * row[1]

        least, most = bed("methane_share_aired"), bed("methane_share_airless")
        to_methane = least + (1 - aired) * (most - least)
        for pool in POOLS:
            decayed = self.k[pool] * speed * m[AT[pool]]
            part = to_methane if pool in self.methane else 0.0
            run(decayed * (1 - part), self.row[pool])
            if part:
                run(decayed * part, self.methane[pool])
        run(bed("decay_rate_humified") * speed * m[AT["humus"]], self.burn["humus"])
        corners = [bed(f"nitrifier_ph_{k}") for k in ["zero_low", "full_low", "full_high", "zero_high"]]
        suits = np.interp(ph, corners, [0, 1, 1, 0])
        nitrified = bed("nitrification_rate") * factor * suits * monod * aired * m[AT["ammonia"]]
        share = bed("nitrous_oxide_yield_nitrification")
        run(nitrified * (1 - share), self.nitrify)
        run(nitrified * share, self.nitrify_n2o)
        kelvin = celsius + 273.15
        terms = [bed(f"ammonia_henry_{k}") for k in ["constant_term", "inverse_temperature_term", "temperature_term"]]
        henry = np.exp(terms[0] + terms[1] / kelvin + terms[2] * kelvin)
        film = DAY * bed("ammonia_transfer_coefficient") * cover
        # a surface of uneven pH: the odds of free ammonia are that many times those at the mean pH
        odds = bed("uneven_ph_factor") * acids.ammonium / 10**-ph
        gas = self.dissolved(m) * odds / (1 + odds) / (henry * 8.2057e-5 * kelvin)
        run(film * self.area * gas / m[0] * m[AT["ammonia"]], self.volatilise)
        lost = bed("denitrification_rate") * factor * (1 - monod * aired) * m[AT["nitrate"]]
        share = bed("nitrous_oxide_yield_denitrification")
        run(lost * (1 - share), self.denitrify)
        run(lost * share, self.denitrify_n2o)
        return change, gases, aired, ph

    def drained(self, m, held, ph, acids):
        """What drains per day from a layer that holds so much water back."""
        bed, out = self.bed, np.zeros(len(ENTRIES))
        surplus = m[0] - held
        if surplus <= 0:
            return out
        out[0] = bed("drainage_rate") * surplus
        share = out[0] / m[0]
        free = bed("drain_solubility_acids_and_salts")
        solubility = dict.fromkeys(["lactic_acid", "acetic_acid", "butyric_acid", "ethanol", "nitrate", "salt"], free)
        solubility |= {k: bed(f"drain_solubility_{k}") for k in ["potassium", "phosphorus"]} | {"ammonia": self.dissolved(m)}
        for name, part in solubility.items():
            out[AT[name]] = m[AT[name]] * share * part
        calcium = share * acids.dissolved_calcium(m, ph)
        out[AT["base"]] = acids.excess(out, ph) - calcium
        out[AT["calcium"]] = calcium
        return out

    def __call__(self, t, y):
        n, bed = len(ENTRIES), self.bed
        layers = [y[i * n : (i + 1) * n] for i in range(3)]
        volumes, celsius = y[3 * n : 3 * n + 3], y[3 * n + 3]
        acids = Acids(self.rates, celsius, bed("pore_carbon_dioxide"))
        factor = self.temperature_factor(celsius)
        held = [bed("water_held_per_dry_matter") * dry(layers[0]), *(self.capacity(m, v) for m, v in zip(layers[1:], volumes[1:]))]
        change, growth, gases, leaks, cover = [], [], np.zeros(len(GASES)), [], 1.0
        for i, (m, v) in enumerate(zip(layers, volumes)):
            dm, g, aired, ph = self.decay(m, v, cover, celsius, acids, factor)
            cover *= self.let_through(v)
            change.append(dm)
            growth.append(v * dry(dm) / dry(m))
            gases += g
            leaks.append(self.drained(m, held[i], ph, acids))
            if i == 0:
                front = bed("acid_conditioning_rate") * factor * aired
                burned = aired
        moved = front * layers[0]
        ready = moved.copy()
        for acid in SOLUBLE:
            extent = burned * moved[AT[acid]]
            ready += extent * self.burn[acid][0]
            gases += extent * self.burn[acid][1]
        change[0] = change[0] - moved
        change[1] = change[1] + ready
        growth[0] -= front * volumes[0]
        growth[1] += front * volumes[0]
        oxygen = -gases[GAS_AT["oxygen"]]
        water, solids = sum(m[0] for m in layers), sum(dry(m) for m in layers)
        film = DAY * self.wetness * self.moisture_factor(water / (water + solids)) * bed("air_heat_transfer_coefficient")
        pull = self.vapour(celsius) - self.humidity * self.vapour(self.room)
        evaporated = max(film / bed("mass_transfer_divisor") * pull * self.area, 0.0)
        gases[GAS_AT["water_vapour"]] += evaporated
        for i, m in enumerate(layers):
            change[i][0] -= evaporated * m[0] / water
            change[i] -= leaks[i]
            if i < 2:
                change[i + 1] = change[i + 1] + leaks[i]
        growth[0] -= leaks[0][0] / 1000
        capacity = water * bed("heat_capacity_water") + solids * bed("heat_capacity_dry_matter")
        loss = bed("bed_heat_transfer_coefficient") * self.area * DAY * (celsius - self.room)
        warmth = oxygen * bed("oxidation_heat") - evaporated * bed("latent_heat_of_evaporation") - loss
        return np.concatenate([*change, growth, [warmth / capacity], gases, leaks[2]])


def bed(rates):
    acids = Acids(rates, 20.0, rates["bed.pore_carbon_dioxide"])
    fresh = matter(
        water=25.0, sugars=1.2, fibre=1.6, lignin=0.4, protein=1.1, bound_protein=0.1, fat=0.5, lactic_acid=0.40, acetic_acid=0.08,
        ethanol=0.03, ammonia=0.01, phosphorus=0.02, potassium=0.06, salt=0.05, minerals=0.3, buffer=0.25,
        calcium=0.4,
    )
    ready = matter(
        water=18.0, sugars=0.4, fibre=1.5, lignin=0.5, protein=0.8, bound_protein=0.2, fat=0.3, humus=0.4, ammonia=0.04,
        nitrate=0.02, phosphorus=0.03, potassium=0.06, salt=0.05, minerals=0.5, buffer=0.3, calcium=0.8,
    )
    castings = matter(
        water=62.0, sugars=0.1, fibre=4.0, lignin=2.0, protein=0.8, bound_protein=0.7, fat=0.2, humus=3.0, ammonia=0.03,
        nitrate=0.10, phosphorus=0.1, potassium=0.2, salt=0.1, minerals=3.0, buffer=1.2, calcium=5.0,
    )
    layers = [acids.with_ph(m, ph) for m, ph in [(fresh, 4.0), (ready, 7.5), (castings, 7.3)]]
    volumes, warm, days = [0.037, 0.022, 0.085], 21.0, 10.0
    equations = BedEquations(rates)
    n = len(ENTRIES)
    start = np.concatenate([*layers, volumes, [warm], np.zeros(len(GASES)), np.zeros(n)])
    end = solve(equations, (0, days), start)
    return {
        "what": "bed of 1 m2 without worms and feeding",
        "call": CALL,
        "area": equations.area,
        "room": equations.room,
        "humidity": equations.humidity,
        "wetness": equations.wetness,
        "days": int(days),
        "start": {"layers": [list(m) for m in layers], "volumes": volumes, "temperature": warm},
        "end": {
            "layers": [list(end[i * n : (i + 1) * n]) for i in range(3)],
            "volumes": list(end[3 * n : 3 * n + 3]),
            "temperature": end[3 * n + 3],
            "gases": dict(zip(GASES, end[3 * n + 4 : 3 * n + 4 + len(GASES)])),
            "drained": list(end[3 * n + 4 + len(GASES) :]),
        },
    }


def cardinal(rates, t):
    low, best, high = (rates[f"fermentation.{k}_temperature"] for k in ["minimum", "optimum", "maximum"])
    below = (best - low) * ((best - low) * (t - best) - (best - high) * (best + low - 2 * t))
    return (t - high) * (t - low) ** 2 / below


def closed_ph(rates, celsius, m, carbon_dioxide, volume):
    """pH of matter under a closed lid that holds all carbon dioxide (kg): its pressure and the pH found together."""
    f = lambda key: rates[f"fermentation.{key}"]
    kelvin, moles = celsius + 273.15, carbon_dioxide / molar_mass("carbon_dioxide")
    henry = f("henry_constant_carbon_dioxide") * np.exp(f("henry_temperature_constant_carbon_dioxide") * (1 / kelvin - 1 / 298.15))
    gas = volume - wet(m) / (1000 * f("paste_density_with_pores"))
    held = 101325 * (gas / (8.314462618 * kelvin) + henry * m[0] / 1000)
    ph = lambda pressure: Acids(rates, celsius, pressure).ph(m)
    bicarbonate = lambda pressure: m[0] * Acids(rates, celsius, pressure).carbonate / 10 ** -ph(pressure)
    pressure = brentq(lambda p: p * held + bicarbonate(p) - moles, 0, moles / held)
    # the gas of a fermenting drum is hardly anything else
    return ph(max(pressure, 1.0))


def drum(rates, celsius, days):
    """A sealed drum at the reference dose: course, slow sugars, late conversion, deamination."""
    f = lambda key: rates[f"fermentation.{key}"]
    # a closed drum is full of the carbon dioxide of its fermentation
    acids = Acids(rates, celsius, 1.0)
    load = matter(
        water=0.77 * 150, sugars=0.08 * 150, protein=0.037 * 150, fat=0.035 * 150, fibre=0.03 * 150, lignin=0.012 * 150,
        phosphorus=0.0012 * 150, potassium=0.002 * 150, salt=0.004 * 150, minerals=0.0288 * 150, buffer=0.23 * 150 * 0.15, calcium=2.0,
    )
    load = Acids(rates, 20.0, 0.0).with_ph(load, 5.1)
    carbon, gas = ["carbon_dioxide", "water"], ["carbon_dioxide", "hydrogen", "water"]
    rows = [
        reaction({"sugars": -1, "lactic_acid": 2}, ["water"]),
        reaction({"sugars": -1, "lactic_acid": 1, "ethanol": 1}, carbon),
        reaction({"sugars": -4 / 3, "lactic_acid": 1, "acetic_acid": 1, "ethanol": 1}, carbon),
        reaction({"sugars": -1, "ethanol": 2}, carbon),
        reaction({"sugars": -1, "acetic_acid": 2}, gas),
        reaction({"sugars": -1, "butyric_acid": 1, "hydrogen": 2}, carbon),
    ]
    late = reaction({"lactic_acid": -2, "acetic_acid": 1}, ["ethanol", "carbon_dioxide"])
    deaminate = reaction({"protein": -1}, ["ammonia", "sugars", "ethanol", "water"])
    names = ["homolactic", "heterolactic_glucose", "heterolactic_fructose", "yeast", "acetic_and_enterobacterial", "butyric"]
    split = np.array([f(f"split_{name}") for name in names])
    split = split / split.sum()
    split[2] *= 4 / 9
    mixed = tuple(sum(x * row[i] for x, row in zip(split, rows)) for i in range(2))
    # a wet batch makes more ammonia, down to 20 % dry matter
    wetter = 30 - 100 * max(dry(load) / wet(load), 0.20)
    share = 0.01 * (f("ammonia_nitrogen_good_batch") + f("ammonia_nitrogen_rise_when_wet") * max(wetter, 0))
    good = share * load[AT["protein"]]
    ready = load + good * deaminate[0]

    def undissociated(x):
        m = ready + x * mixed[0]
        h = 10 ** -acids.ph(m)
        share = 1 - 1 / (1 + acids.acids[0] * h)
        return m[AT["lactic_acid"]] / molar_mass("lactic_acid") * share / m[0] - f("undissociated_lactic_stopping_production")

    stop = brentq(undissociated, 0.0, 40.0, xtol=1e-13)
    assert acids.ph(ready + stop * mixed[0]) > f("minimum_ph")
    clock = cardinal(rates, celsius) / cardinal(rates, 25.0)
    r, lag = f("rate_at_25_celsius_whole_scraps"), f("lag_at_25_celsius_whole_scraps")
    gompertz = lambda tau: np.exp(-np.exp(np.e * r * (lag - tau) + 1))
    slope = lambda tau: np.e * r * np.exp(np.e * r * (lag - tau) + 1) * gompertz(tau)
    start = gompertz(0.0)
    made = lambda tau: (gompertz(tau) - start) / (1 - start)
    # classes of carbohydrate: a quarter of sugars and starch is sugar, nine tenths of the starch are cooked
    free, boiled = 0.25, 0.9
    sugars = load[AT["sugars"]]
    cooked = boiled * (1 - free) * sugars
    pectin = f("fermentable_fibre_share") * load[AT["fibre"]]
    quick = f("fermentable_sugar_share") * free * sugars + f("fermentable_raw_starch_share") * ((1 - free) * sugars - cooked)
    quick += f("fermentable_cooked_starch_share") * cooked + pectin
    slow = (1 - f("fermentable_cooked_starch_share")) * cooked
    sealed = load + pectin * matter(sugars=1, fibre=-1)
    n, g = len(ENTRIES), len(GASES)

    def rhs(t, y):
        tau = clock * t
        rate = clock * slope(tau) / (1 - start)
        held = quick + slow * (1 - np.exp(-f("slow_starch_hydrolysis_rate") * tau))
        released = clock * f("slow_starch_hydrolysis_rate") * slow * np.exp(-f("slow_starch_hydrolysis_rate") * tau)
        fermented = rate * stop if stop < held else rate * held + made(tau) * released
        lost = f("late_lactic_to_acetic_rate") * clock * y[AT["lactic_acid"]]
        parts = [(fermented, mixed), (lost, late), (good * rate, deaminate)]
        return np.concatenate([sum(x * row[i] for x, row in parts) for i in range(2)])

    end = solve(rhs, (0, days), np.concatenate([sealed, np.zeros(g)]), max_step=0.5)
    return {
        "what": "sealed drum at the reference dose of starter",
        "call": CALL,
        "temperature": celsius,
        "days": days,
        "load": list(load),
        "free_sugar": free,
        "cooked_starch": boiled,
        "dose": f("starter_reference_dose"),
        "acid_extent": stop,
        "matter": list(end[:n]),
        "gases": dict(zip(GASES, end[n:])),
        "ph": closed_ph(rates, celsius, end[:n], end[n + GAS_AT["carbon_dioxide"]], 0.208),
    }


def drying(rates):
    """Water of a layer of 30 kg dry matter at 5 kg/d, falling in proportion below the critical moisture."""
    w = rates["site.drying_critical_moisture"]
    critical = 30 * w / (1 - w)
    left = solve(lambda t, y: [-5 * min(y[0] / critical, 1.0)], (0, 12), [70.0], max_step=0.05)
    return {"what": "drying layer", "call": CALL + ", max_step=0.05", "water": 70.0, "dry": 30.0, "rate": 5.0, "days": 12.0, "left": left[0]}


def room():
    """dC/dt = (G + Q C_out - (G + Q) C)/V from the outdoor share: as much leaves as enters."""
    out = 420e-6
    made, air, volume = 0.0885, 30.0, 60.0
    end = solve(lambda t, y: [(made + air * out - (made + air) * y[0]) / volume], (0, 5.0), [out])
    return {"what": "store room", "call": CALL, "outdoors": out, "made": made, "air": air, "volume": volume, "hours": 5.0, "end": end[0]}


if __name__ == "__main__":
    rates = Rates()
    content = {
        "script": "tests/reference/stepping.py",
        "libraries": {"python": platform.python_version(), "numpy": np.__version__, "scipy": scipy.__version__},
        "bed": bed(rates),
        "drums": [drum(rates, 22.0, 28), drum(rates, 15.0, 84)],
        "drying": drying(rates),
        "room": room(),
    }
    save("stepping.json", content | {"rates": rates.asked})
