"""The model as its documentation writes it: drums over their weeks, and a bed with worms over 200 days.

Run: python by_the_book.py (writes by_the_book.json). Python 3 alone. Written from the chapter "The model in equations"
(src/unit/equations) and from nothing else, section by section in its order; rates are read from the literature tables.
"""

import platform
from math import cos, exp, inf, log, pi, sin, sqrt

from book_matter import (
    AT, GASES, GAS_AT, POOLS, R, SOLUBLE, Acids, Factors, Rates, add, burning, clamp, dissolved_ammonium, dry, empty, excess, matter,
    moisture, molar, nitrogen, of_ph, ph_of, react, reaction, root, save, scaled, share_lost, vapour_density, wet,
)

rates = Rates()
f = lambda key: rates[f"fermentation.{key}"]
b = lambda key: rates[f"bed.{key}"]
w = lambda key: rates[f"worms.{key}"]


# ---------------------------------------------------------------------------------------------- drums


def load_of(m, z, c):
    """One ingredient: matter, quick, slow, drains, soaks_up."""
    sugar = z * m[AT["sugars"]]
    cooked = c * (m[AT["sugars"]] - sugar)
    raw = m[AT["sugars"]] - sugar - cooked
    quick = f("fermentable_sugar_share") * sugar + f("fermentable_raw_starch_share") * raw
    quick += f("fermentable_cooked_starch_share") * cooked
    slow = (1 - f("fermentable_cooked_starch_share")) * cooked
    x = dry(m) / wet(m)
    litres = f("effluent_constant_term") + f("effluent_linear_term") * x + f("effluent_quadratic_term") * x * x
    drains = wet(m) * max(litres, 0) / 1000 if x < f("effluent_dry_matter_cut") else 0.0
    held = min(f("liquor_balanced_moisture"), 0.99)
    soaks = max(held / (1 - held) * dry(m) - m[0], 0)
    return [m, quick, slow, drains, soaks]


SPLIT = ["homolactic", "heterolactic_glucose", "heterolactic_fructose", "yeast", "acetic_and_enterobacterial", "butyric"]
SUGAR_ROWS = [
    reaction({"sugars": -1, "lactic_acid": 2}, ["water"]),
    reaction({"sugars": -1, "lactic_acid": 1, "ethanol": 1}, ["carbon_dioxide", "water"]),
    reaction({"sugars": -4 / 3, "lactic_acid": 1, "acetic_acid": 1, "ethanol": 1}, ["carbon_dioxide", "water"]),
    reaction({"sugars": -1, "ethanol": 2}, ["carbon_dioxide", "water"]),
    reaction({"sugars": -1, "acetic_acid": 2}, ["carbon_dioxide", "hydrogen", "water"]),
    reaction({"sugars": -1, "butyric_acid": 1, "hydrogen": 2}, ["carbon_dioxide", "water"]),
]
LATE = reaction({"lactic_acid": -2, "acetic_acid": 1}, ["ethanol", "carbon_dioxide"])
SPOILAGE = reaction({"lactic_acid": -2, "butyric_acid": 1}, ["carbon_dioxide", "hydrogen"])
DEAMINATION = reaction({"protein": -1}, ["ammonia", "sugars", "ethanol", "water"])
AIR_SUGARS, AIR_LACTIC = burning("sugars"), burning("lactic_acid")


def cardinal(t):
    low, best, high = (f(f"{k}_temperature") for k in ["minimum", "optimum", "maximum"])
    if t <= low or t >= high:
        return 0.0
    below = (best - low) * ((best - low) * (t - best) - (best - high) * (best + low - 2 * t))
    return clamp((t - high) * (t - low) ** 2 / below, 0, 1)


def growth_by_ph(ph):
    low, best, high = f("minimum_ph"), f("optimum_ph_lactic_bacteria"), f("maximum_ph_lactic_bacteria")
    if ph <= low or ph >= high:
        return 0.0
    product = (ph - low) * (ph - high)
    return product / (product - (ph - best) ** 2)


def run_share(t):
    """Share of all liquor that has run at an age."""
    t = min(t, 79)
    if t <= 3:
        return 0.0148 * t * t
    return 0.133 + 0.017 * (t - 3) - 0.000107 * (t * t - 9) + 0.241 * (1 - exp(-0.298 * (t - 3)))


class Drum:
    def __init__(self, load, dose, luck, plan, celsius):
        self.plan, self.luck, self.celsius = plan, luck, celsius
        m, quick, slow, drains, soaks = load
        self.m = m[:]
        # 1
        pectin = f("fermentable_fibre_share") * m[AT["fibre"]]
        self.m[AT["fibre"]] -= pectin
        self.m[AT["sugars"]] += pectin
        self.F, self.Z = quick + pectin, slow
        # 2
        ph = ph_of(self.m, Acids(rates, celsius, 1e-6 * f("outdoor_carbon_dioxide")))
        # 3
        bacteria = lambda d: f("lactic_bacteria_on_raw_feed") + f("lactic_bacteria_with_starter") * d / f("starter_reference_dose")
        nu = bacteria(dose) / bacteria(f("starter_reference_dose"))
        shares = [f(f"split_{k}") for k in SPLIT]
        shares = [x / sum(shares) for x in shares]
        side = shares[1] + shares[3] + shares[4]
        phi = clamp(nu ** -f("starter_split_exponent"), 0, (shares[0] + side) / side)
        shares[0] += side * (1 - phi)
        for j in [1, 3, 4]:
            shares[j] *= phi
        shares[2] *= 4 / 9
        self.x, self.u = shares, sum(shares)
        change, self.change_gas = empty(), [0.0] * len(GASES)
        for x, row in zip(self.x, SUGAR_ROWS):
            react(row, x, change, self.change_gas)
        self.change = change
        # 4
        per_protein = 4 * 14.007 / (1000 * molar("protein"))
        wanted = lambda share: clamp((share * nitrogen(self.m) - self.m[AT["ammonia"]] * 14.007 / (1000 * molar("ammonia"))) / per_protein, 0, self.m[AT["protein"]])
        x = dry(self.m) / wet(self.m)
        good = 0.01 * f("ammonia_nitrogen_good_batch") + f("ammonia_nitrogen_rise_when_wet") * max(0.30 - max(x, 0.20), 0)
        self.good = wanted(good)
        self.bad = max(wanted(0.01 * f("ammonia_nitrogen_spoiled")), self.good)
        # 5
        with_ammonia, gas = self.m[:], [0.0] * len(GASES)
        react(DEAMINATION, self.good, with_ammonia, gas)
        self.E = self.acid_limit(with_ammonia, Acids(rates, celsius, 1.0))
        # 6
        kind = "ground_slurry" if plan["slurry"] else "whole_scraps"
        self.rate, lag = f(f"rate_at_25_celsius_{kind}"), f(f"lag_at_25_celsius_{kind}")
        mu = 24 * f("growth_rate_optimum_lactobacillus_plantarum") * cardinal(25) * growth_by_ph(ph)
        self.lag = max(lag - log(nu) / mu, 0) if mu > 0 else lag
        # 7, 8
        self.Q = clamp(f("effluent_scale_food_waste") * drains - f("liquor_met_share") * soaks, 0, wet(m)) if plan["drain"] else 0.0
        self.leak = plan["leak"] / 7 * dry(m)
        self.tau = self.Y = self.G = self.A = self.tapped = self.n = self.hydrogen = 0.0
        self.gone = 0.0  # gas made since loading, kg, less oxygen
        self.loaded = wet(self.m)
        self.spoiled, self.ph, self.age, self.margin, self.judged = False, ph, -1, None, 0
        self.last_liquor, self.gauge = empty(), 0.0

    def acid_limit(self, m, acids):
        def extent(ph):
            missing = max(-excess(m, ph, acids), 0)
            taken = excess(self.change, ph, acids)
            return missing / taken if taken > 0 else (0.0 if missing == 0 else inf)

        def reached(ph):
            e = extent(ph)
            if e == inf:
                return inf
            water = m[0] + e * self.change[0]
            if water <= 0:
                return inf
            lactic = (m[AT["lactic_acid"]] + e * self.change[AT["lactic_acid"]]) / molar("lactic_acid")
            return lactic / water * (1 - acids.dissociated(0, ph)) - f("undissociated_lactic_stopping_production")

        high, low = ph_of(m, acids), f("minimum_ph")
        if high <= low or reached(high) >= 0:
            return 0.0
        if reached(low) <= 0:
            return extent(low)
        return extent(root(lambda ph: -reached(ph), low, high))

    def gompertz(self, tau):
        return exp(-exp(exp(1) * self.rate * (self.lag - tau) + 1))

    def day(self, celsius):
        self.age += 1
        self.celsius = celsius
        clock = cardinal(celsius) / cardinal(25)
        self.tau += clock
        water, sugars, lactic = (self.m[AT[k]] for k in ["water", "sugars", "lactic_acid"])
        # 1, 2, 3
        released = self.Z * share_lost(f("slow_starch_hydrolysis_rate") * clock)
        self.Z -= released
        self.F += released
        start = self.gompertz(0)
        self.Y = clamp((self.gompertz(self.tau) - start) / (1 - start), 0, 1)
        bound = -self.change[0]
        most = min(sugars / self.u, water / bound if bound > 0 else inf)
        dG = clamp(self.Y * min(self.E, self.F) - self.G, 0, most)
        self.G += dG
        rows = [(row, x * dG) for x, row in zip(self.x, SUGAR_ROWS)]
        # 4, 5, 6
        late = lactic * share_lost(f("late_lactic_to_acetic_rate") * clock)
        rows.append((LATE, late))
        spoil = share_lost(f("spoilage_rate_at_25_celsius") * clock)
        butyric = (lactic - late) * spoil if self.spoiled else 0.0
        rows.append((SPOILAGE, butyric))
        protein = (self.bad - self.A) * spoil if self.spoiled else self.Y * self.good - self.A
        protein = max(min(protein, (water - bound * dG) / -DEAMINATION[0][0]), 0)
        self.A += protein
        rows.append((DEAMINATION, protein))
        # 7
        need = lambda row: -row[1][GAS_AT["oxygen"]]
        on_sugars = min(self.leak / need(AIR_SUGARS), max(sugars - self.u * dG, 0))
        rest = self.leak - on_sugars * need(AIR_SUGARS)
        rows += [(AIR_SUGARS, on_sugars), (AIR_LACTIC, min(rest / need(AIR_LACTIC), lactic - late - butyric))]
        gases = [0.0] * len(GASES)
        for row, x in rows:
            react(row, x, self.m, gases)
        self.gone += sum(gases)
        self.n += gases[GAS_AT["carbon_dioxide"]] / molar("carbon_dioxide")
        self.hydrogen += gases[GAS_AT["hydrogen"]] / molar("hydrogen")
        out = self.vent()
        out["oxygen"] = gases[GAS_AT["oxygen"]]
        liquor = self.tap() if self.age % self.plan["tap_days"] == 0 else empty()
        every = f("stability_check_age")
        if int(self.age / every) > self.judged:
            self.judged = int(self.age / every)
            self.judge()
        return out, liquor

    def capacity(self):
        head = max(self.plan["volume"] - (self.loaded - self.gone) / (1000 * f("paste_density_with_pores")), 0.01 * self.plan["volume"])
        kelvin = self.celsius + 273.15
        h = f("henry_constant_carbon_dioxide") * exp(f("henry_temperature_constant_carbon_dioxide") * (1 / kelvin - 1 / 298.15))
        gas = head / (R * kelvin)
        return gas, gas + h * self.m[0] / 1000

    def vent(self):
        gas, K = self.capacity()
        if self.spoiled:
            K += Acids(rates, self.celsius, 1.0).bicarbonate(self.m[0], self.ph) / 101325
        if self.plan["valve"] is None:
            self.gauge = self.n / K + self.hydrogen / gas
            return {"carbon_dioxide": 0.0, "hydrogen": 0.0}
        over = max(self.n - (101325 + self.plan["valve"]) * K, 0)
        out = {"carbon_dioxide": over * molar("carbon_dioxide"), "hydrogen": self.hydrogen * molar("hydrogen")}
        self.n -= over
        self.hydrogen = 0.0
        self.gauge = self.plan["valve"] if over > 0 else 0.0
        return out

    def lid_ph(self):
        _, K = self.capacity()
        held = 101325 * K
        acids = lambda p: Acids(rates, self.celsius, p)
        ph = lambda p: ph_of(self.m, acids(p))
        gap = lambda p: p * held + acids(p).bicarbonate(self.m[0], ph(p)) - self.n
        if gap(1.0) >= 0:
            return ph(1.0)
        return ph(root(gap, 1.0, self.n / held))

    def tap(self):
        run = run_share(self.age)
        due = self.Q * (run - self.tapped)
        self.tapped = run
        if due <= 0:
            return empty()
        self.ph = self.lid_ph()
        m, pore = self.m, empty()
        for k in ["water", *SOLUBLE, "ammonia", "nitrate", "potassium", "salt", "calcium"]:
            pore[AT[k]] = m[AT[k]]
        pore[AT["phosphorus"]] = f("soluble_phosphorus_in_drum") * m[AT["phosphorus"]]
        pore[AT["sugars"]] = clamp(self.F - self.u * self.G, 0, m[AT["sugars"]])
        solids = add(m, pore, -1)
        solids[AT["base"]] = 0.0
        mass = min(due, wet(pore))
        if dry(pore) / wet(pore) >= f("leachate_dry_matter"):
            a, s = mass / wet(pore), 0.0
        else:
            a = min(mass * (1 - f("leachate_dry_matter")) / m[0], 1)
            s = min(max(mass - a * wet(pore), 0) / wet(solids), 1)
        liquor = add(scaled(pore, a), solids, s)
        liquor[AT["base"]] = 0.0
        liquor = of_ph(liquor, self.ph, Acids(rates, self.celsius, 1.0))
        self.m = add(m, liquor, -1)
        self.loaded, self.gone = wet(self.m), 0.0
        self.E, self.F, self.G = ((1 - a) * x for x in [self.E, self.F, self.G])
        self.Z, self.good, self.bad, self.A = ((1 - s) * x for x in [self.Z, self.good, self.bad, self.A])
        return liquor

    def judge(self):
        self.ph = self.lid_ph()
        rich = 6.25 * nitrogen(self.m) / dry(self.m) > f("protein_rich_crude_protein")
        line = "legume_and_protein_rich" if rich else "grass_and_maize"
        x = max(dry(self.m) / wet(self.m), 0.01 * f("too_wet_dry_matter"))
        self.margin = f(f"critical_ph_intercept_{line}") + 100 * f(f"critical_ph_slope_{line}") * x - self.ph
        chance = 1 / (1 + exp((self.margin + f("spoilage_probability_offset")) / f("spoilage_probability_width")))
        self.spoiled = self.spoiled or self.luck < chance


# ---------------------------------------------------------------------------------------------- worms


def lines(points, x):
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in zip(points, points[1:]):
        if x < x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[-1][1]


MOISTURE = [(0.52, 0), (0.61, 0.13), (0.65, 0.5), (0.70, 0.75), (0.75, 0.9), (0.80, 1), (0.85, 1), (0.90, 0.85), (0.95, 0)]
ACIDITY = [(5, 0), (6, 1), (8, 1), (9, 0)]
LAYING = [(5, 0), (10, 0.25), (15, 0.7), (20, 1), (25, 1), (30, 0.6), (33, 0.25), (35, 0)]
STAGES = [9, 12, 10]


def pace_of(t):
    base, high = w("growth_temperature_base"), w("growth_temperature_maximum")

    def curve(t):
        return t * (t - base) * sqrt(high - t) if max(base, 0) < t < high else 0.0

    return curve(t) / curve(25)


def masses(start, end, n):
    return [start * (end / start) ** ((i + 0.5) / n) for i in range(n)]


class Worms:
    """Numbers by stage: cocoons, juveniles, sub-adults, adults (a list of one)."""

    def __init__(self):
        self.numbers = [[0.0] * n for n in STAGES] + [[0.0]]
        self.q = self.g = self.s = 1.0
        born, young = w("juvenile_end_mass_in_model"), w("subadult_end_mass_in_model")
        self.mass = [masses(w("hatchling_mass_in_model"), born, 12), masses(born, young, 10), [w("adult_mass")]]

    def frame(self):
        return sum(n * m for stage, mass in zip(self.numbers[1:], self.masses()) for n, m in zip(stage, mass))

    def masses(self):
        return [*self.mass[:2], [self.mass[2][0] * self.s]]

    def B(self):
        return self.g * self.frame()

    def live(self):
        return self.B() + w("cocoon_mass_measured") * sum(self.numbers[0])

    @staticmethod
    def adults(mass):
        one = Worms()
        one.numbers[3] = [mass / w("adult_mass")]
        return one

    @staticmethod
    def stable(mass):
        one = Worms()
        heat = w("heat_extra_death_rate_per_kelvin") * max(25 - 33, 0)
        survive = [1 - w(f"{k}_death_rate") - heat for k in ["cocoon", "juvenile", "subadult", "adult"]]
        p = [min(n / w(f"{k}_duration"), 1) for n, k in zip(STAGES, ["cocoon", "juvenile", "subadult"])]
        laid = w("cocoon_rate_per_adult") * lines(LAYING, 25)
        hatch = w("cocoon_hatch_share") * w("hatchlings_per_hatched_cocoon")

        def gap(x):
            product = laid * hatch
            for n, s, p_ in zip(STAGES, survive, p):
                product *= (s * p_ / (x - s * (1 - p_))) ** n
            return x - survive[3] - product

        growth = root(gap, max(*(s * (1 - p_) for s, p_ in zip(survive, p)), survive[3]) + 1e-12, 3.0)
        entering = laid
        for stage, (n, s, p_) in enumerate(zip(STAGES, survive, p)):
            for i in range(n):
                one.numbers[stage][i] = entering / (growth - s * (1 - p_))
                entering = s * p_ * one.numbers[stage][i]
            entering *= hatch if stage == 0 else 1
        one.numbers[3] = [1.0]
        old, step = survive[3] / growth, min(1 / max(w("adult_growth_time"), 1), 1)
        young = w("mass_at_maturity") / w("adult_mass")
        one.s = (old * step * w("adult_size_at_full_food") + (1 - old) * young) / (1 - old * (1 - step))
        size = mass / one.B()
        one.numbers = [[n * size for n in stage] for stage in one.numbers]
        return one

    def join(self, other):
        own, their = self.B(), other.B()
        frames = self.frame() + other.frame()
        self.q = (self.q * own + other.q * their) / (own + their)
        self.g = (own + their) / frames
        mine, yours = self.numbers[3][0], other.numbers[3][0]
        self.s = (self.s * mine + other.s * yours) / (mine + yours)
        self.numbers = [[x + y for x, y in zip(one, two)] for one, two in zip(self.numbers, other.numbers)]

    def day(self, t, zone, area, feed):
        """Eaten, stock of the morning, tissue lost."""
        B, D = self.B(), self.B() / area
        cocoons = sum(self.numbers[0])
        morning = [[n * m for n, m in zip(stage, mass)] for stage, mass in zip(self.numbers[1:], self.masses())]
        phi_T = pace_of(t)
        place = min(lines(MOISTURE, zone["moisture"]), lines(ACIDITY, zone["ph"]))
        phi_E, phi_L = min(place, zone["feeding"]), min(place, zone["laying"])
        # 1, 2, 3
        E = food = 0.0
        if B > 0:
            i_max, i_m = w("maximum_intake"), w("maintenance_intake")
            chi = 1 / (1 + (D / w("intake_density_half_effect")) ** 2)
            E = min(i_max * phi_T * chi * phi_E * B, max(feed, 0))
            warm = E / (B * phi_T) if phi_T > 0 else i_m
            food = clamp((warm - i_m) / (i_max - i_m), -1, 1)
            tau = max(w("condition_time_constant"), 1)
            self.q += (max(food, 0) - self.q) / tau
            if food >= 0:
                self.g += (1 - self.g) * food / tau
            else:
                self.g *= 1 - w("starvation_loss_rate") * phi_T * max(1 - warm / i_m, 0)
            least, most = w("adult_size_at_maintenance"), w("adult_size_at_full_food")
            sought = least + (most - least) * self.q
            r = w("starvation_loss_rate") if sought < self.s else 1 / max(w("adult_growth_time"), 1) if food > 0 else 0
            self.s += (sought - self.s) * min(r * phi_T, 1)
        else:
            self.q = self.g = self.s = 1.0
        # 4
        laying = w("cocoon_rate_per_adult") * lines(LAYING, t) * phi_L * self.q * self.numbers[3][0]
        laid = laying / (1 + (D / w("laying_density_half_effect")) ** 2)
        # 5
        heat = w("heat_extra_death_rate_per_kelvin") * max(t - 33, 0) + (w("heat_extra_death_rate_above_38_celsius") if t > 38 else 0)
        all_worms = heat + zone["deaths"] + (w("low_condition_extra_death_rate") if self.g < w("low_condition_threshold") else 0)
        all_worms += (w("cold_extra_death_rate_below_0_celsius") if t < 0 else 0)
        all_worms += w("acid_death_rate_without_refuge") if zone["ph"] < 5 and not zone["refuge"] else 0
        all_worms += w("alkali_death_rate") * clamp((zone["ph"] - 9) / 0.5, 0, 1)
        crowd = w("crowding_juvenile_death_rate") * (D / w("intake_density_half_effect")) ** 2
        die = [min(w("cocoon_death_rate") + heat, 1)]
        die += [min(w(f"{k}_death_rate") + all_worms + (crowd if k == "juvenile" else 0), 1) for k in ["juvenile", "subadult", "adult"]]
        # 6
        entering, hatched = laid, 0.0
        for stage, kind in enumerate(["cocoon", "juvenile", "subadult"]):
            pace = phi_T * (1 if stage == 0 else max(food, 0))
            p = min(STAGES[stage] / w(f"{kind}_duration") * pace, 1)
            left = [n * (1 - die[stage]) for n in self.numbers[stage]]
            self.numbers[stage] = [n * (1 - p) + (left[i - 1] * p if i else entering) for i, n in enumerate(left)]
            entering = left[-1] * p
            if stage == 0:
                entering *= w("cocoon_hatch_share") * w("hatchlings_per_hatched_cocoon")
                hatched = entering
        self.numbers[3] = [self.numbers[3][0] * (1 - die[3]) + entering]
        if entering > 0:
            self.s += (w("mass_at_maturity") / w("adult_mass") - self.s) * entering / self.numbers[3][0]
        lost = self.g * sum(d * sum(stage) for d, stage in zip(die[1:], morning))
        lost += w("cocoon_mass_measured") * (cocoons + laid - sum(self.numbers[0])) - hatched * self.g * self.mass[0][0]
        return E, B, lost


# ---------------------------------------------------------------------------------------------- beds

BURN = {pool: burning(pool) for pool in POOLS + ["humus"]}
METHANE = {pool: reaction({pool: -1}, ["methane", "carbon_dioxide", "water"]) for pool in ["sugars", "fibre"]}
NITRIFY = reaction({"ammonia": -1, "nitrate": 1}, ["oxygen", "water"])
NITRIFY_N2O = reaction({"ammonia": -1, "nitrous_oxide": 0.5}, ["oxygen", "water"])
DENITRIFY = reaction({"nitrate": -1, "fibre": -5 / 24, "dinitrogen": 0.5}, ["carbon_dioxide", "water"])
DENITRIFY_N2O = reaction({"nitrate": -1, "fibre": -4 / 24, "nitrous_oxide": 0.5}, ["carbon_dioxide", "water"])
VOLATILISE = reaction({"ammonia": -1, "ammonia_gas": 1}, [])
DRAINS = ["lactic_acid", "acetic_acid", "butyric_acid", "ethanol", "nitrate", "salt"]


def humified(pool):
    """Row of a pool: the share y of its carbon becomes humus, the rest burns."""
    y, carbon = b("carbon_retained_in_humified_pool"), BURN[pool]
    kept = reaction({pool: -1, "humus": molar.atoms(pool)[0] / 11}, ["oxygen", "water", "ammonia"])
    return tuple(add(scaled(carbon[i], 1 - y), kept[i], y) for i in range(2))


ROW = {pool: humified(pool) for pool in POOLS}


def rate_of(pool):
    slow = {"fibre": "hemicellulose_and_cellulose", "bound_protein": "hemicellulose_and_cellulose", "lignin": "lignin",
            "protein": "protein", "fat": "lipid", "humus": "humified"}
    return b(f"decay_rate_{slow.get(pool, 'readily_degradable')}")


def tissue():
    d = w("worm_dry_matter")
    of = lambda k: d * b(f"worm_{k}_content")
    m = matter(water=1 - d, protein=of("protein"), fat=of("fat"), phosphorus=of("phosphorus"), potassium=of("potassium"))
    m[AT["minerals"]] = of("ash") - of("phosphorus") - of("potassium")
    m[AT["sugars"]] = 1 - wet(m)
    return m


class Layer:
    def __init__(self, m=None, volume=0.0, ph=7.0):
        self.m, self.V, self.ph, self.aired = m or empty(), volume, ph, 1.0

    def take(self, share):
        part, volume = scaled(self.m, share), self.V * share
        self.m, self.V = add(self.m, part, -1), self.V - volume
        return part, volume

    def add(self, m, volume=0.0):
        self.m, self.V = add(self.m, m), self.V + volume

    def follow(self, before):
        if before > 0:
            self.V *= max(dry(self.m) / before, 0)

    def surplus(self):
        return max(self.m[0] - held(self.V, dry(self.m)), 0)

    def let_out(self, x, acids):
        if x <= 0:
            return empty()
        m, share, out = self.m, x / self.m[0], empty()
        out[0] = x
        for k in DRAINS:
            out[AT[k]] = m[AT[k]] * share * b("drain_solubility_acids_and_salts")
        for k in ["potassium", "phosphorus"]:
            out[AT[k]] = m[AT[k]] * share * b(f"drain_solubility_{k}")
        out[AT["ammonia"]] = m[AT["ammonia"]] * share * dissolved_ammonium(m, rates)
        out = of_ph(out, self.ph, acids)
        calcium = m[AT["calcium"]] * acids.calcium_share(m, self.ph) * share
        out[AT["base"]] -= calcium
        out[AT["calcium"]] = calcium
        self.m = add(m, out, -1)
        return out


def held(volume, dry_matter):
    return max(1000 * (volume * (1 - b("drained_air")) - dry_matter / b("solid_density")), 0)


class Bed:
    def __init__(self, plan, bedding, volume, celsius, worms):
        self.plan, self.T, self.worms = plan, celsius, worms
        self.fresh, self.ready, self.castings = Layer(), Layer(), Layer(bedding[:], volume)
        self.tissue, self.wetted = tissue(), False
        self.gases, self.drained, self.irrigated = [0.0] * len(GASES), empty(), 0.0

    def layers(self):
        return [self.fresh, self.ready, self.castings]

    def acids(self):
        return Acids(rates, self.T, b("pore_carbon_dioxide"))

    def room_for_feed(self, ration, density):
        p, B = self.plan, self.worms.B()
        if B <= 0 or not p["coldest"] <= self.T <= p["hottest"]:
            return 0.0
        eating = w("maximum_intake") * B / (1 + (B / p["area"] / w("intake_density_half_effect")) ** 2)
        if dry(self.ready.m) / w("feed_dry_share") > p["overfeed_days"] * eating:
            return 0.0
        everything, limit = sum(wet(layer.m) for layer in self.layers()), p["fresh_share_limit"]
        depth = sum(layer.V for layer in self.layers()) / p["area"]
        room = min(p["largest_layer"], p["depth"] - depth) * p["area"] * density
        return max(min(ration * B, (limit * everything - wet(self.fresh.m)) / (1 - limit), room), 0)

    def day(self, air, steps):
        acids = self.acids()
        self.water_it(acids)
        zone = self.zone(acids)
        edible = dry(self.ready.m) / w("feed_dry_share")
        before = self.worms.live()
        E, B, lost = self.worms.day(self.T, zone, self.plan["area"], edible)
        breathed = self.meal(acids, E, B, edible, self.worms.live() - before, lost, before)
        part = lambda z: z / (z + b("worm_activity_half"))
        turn = [0.0, E / edible if edible > 0 else 0.0, E * w("feed_dry_share") / dry(self.castings.m)]
        work = [(1 + (b("worm_decay_multiplier") - 1) * part(z), 1 + b("worm_nitrification_rise") * part(z)) for z in turn]
        for _ in range(steps):
            start = self.T
            self.step(air, 1 / steps, work, breathed / steps)
            assert abs(self.T - start) < 15
        return zone

    # 1
    def water_it(self, acids):
        p = self.plan
        water = self.ready.m[0] + self.castings.m[0]
        solids = [dry(self.ready.m), dry(self.castings.m)]
        # from its first worms on
        if self.worms.B() <= 0 or water >= p["low"] * (water + sum(solids)):
            return
        aim = (p["low"] + p["high"]) / 2
        most = held(self.ready.V, solids[0]) + held(self.castings.V, solids[1])
        added = max(min(aim * sum(solids) / (1 - aim), most) - water, 0)
        for layer, own in zip([self.ready, self.castings], solids):
            layer.m[0] += added * own / sum(solids)
        more = added * p["leaching"] / (1 - p["leaching"]) if self.wetted else 0.0
        self.castings.m[0] += more
        self.drained = add(self.drained, self.castings.let_out(more, acids))
        self.irrigated += added + more
        self.wetted = self.wetted or added > 0

    # 2
    def zone(self, acids):
        p = self.plan
        parts = [self.ready, self.castings]
        everything = sum(wet(layer.m) for layer in self.layers())
        share = wet(self.fresh.m) / everything
        refuge = not (self.fresh.V / p["area"] > w("acid_refuge_layer") and share > p["fresh_share_limit"] + 1e-9)
        if not refuge:
            parts = parts + [self.fresh]
        m, volume = empty(), 0.0
        for layer in parts:
            m, volume = add(m, layer.m), volume + layer.V
        ph = ph_of(m, acids)
        space = clamp(1 - (dry(m) / b("solid_density") + m[0] / 1000) / volume, 0, 1)
        salt = 1000 * m[AT["salt"]] / m[0]
        total = 1000 * dissolved_ammonium(m, rates) * m[AT["ammonia"]] * 14.007 / (1000 * molar("ammonia")) / m[0]
        units = total / b("ammonia_toxic_unit_total") + acids.free_ammonia(ph) * total / b("ammonia_toxic_unit_free")
        full, none = b("salt_response_full_limit"), b("salt_response_zero")
        low, enough = b("air_porosity_response_zero"), b("air_porosity_response_full")
        breath = clamp((space - low) / (enough - low), 0, 1)
        most, per_day = b("toxic_death_rate"), log(2) / 28
        return {
            "moisture": moisture(m), "ph": ph, "refuge": refuge, "porosity": space, "salt": salt, "units": units,
            "feeding": min(clamp((none - salt) / (none - full), 0, 1), clamp((1.4 - units) / 0.8, 0, 1), breath),
            "laying": min(1 / (1 + (salt / b("salt_laying_half_effect")) ** 3), 1 / (1 + units**3), breath),
            "deaths": min(per_day * (salt / b("salt_lethal_level")) ** 6, most) + min(per_day * units**4, most),
        }

    # 4
    def meal(self, acids, E, B, edible, growth, lost, before):
        meal, _ = self.ready.take(min(E / edible, 1) if edible > 0 else 0.0)
        carbon = sum(meal[AT[k]] * molar.carbon(k) for k in POOLS + ["humus"])
        wanted = min(b("worm_respired_carbon_20_celsius") * b("worm_respiration_q10") ** ((self.T - 20) / 10) * B, b("worm_carbon_assimilation") * carbon)
        gases = [0.0] * len(GASES)
        wanted /= molar.carbon("sugars")
        for pool in ["sugars", "fibre"]:
            x = max(min(wanted, meal[AT[pool]]), 0)
            react(BURN[pool], x, meal, gases)
            wanted -= x
        volume = dry(meal) / b("castings_dry_density")
        beyond = meal[0] - held(volume, dry(meal))
        self.castings.add(meal, volume)
        self.drained = add(self.drained, self.castings.let_out(max(min(beyond, self.castings.surplus()), 0), acids))
        most = max(w("largest_allowed_conversion") * E - lost, 0)
        for i, share in enumerate(self.tissue):
            if share > 0:
                there = self.castings.m[i] + (self.castings.m[AT["fibre"]] if i == AT["sugars"] else 0)
                most = min(most, there / share)
        if growth > 0 and growth > most:
            evening = self.worms.B()
            self.worms.g *= max(evening - (growth - most), 0) / evening
            growth = self.worms.live() - before
        solids = dry(self.castings.m)
        self.castings.m = add(self.castings.m, self.tissue, -growth)
        short = max(-self.castings.m[AT["sugars"]], 0)
        self.castings.m[AT["sugars"]] += short
        self.castings.m[AT["fibre"]] -= short
        self.castings.follow(solids)
        self.gases = add(self.gases, gases)
        return -gases[GAS_AT["oxygen"]]

    def step(self, air, t, work, breathed):
        acids, area = self.acids(), self.plan["area"]
        factor = Factors(rates)
        f_T = factor.temperature(self.T)
        gases, cover = [0.0] * len(GASES), 1.0
        # 6
        for layer in self.layers():
            if wet(layer.m) > 0:
                layer.ph = ph_of(layer.m, acids)
        for layer, (m, m_N) in zip(self.layers(), work):
            if wet(layer.m) > 0:
                self.decay(layer, m, m_N, cover, f_T, acids, factor, t, gases)
            else:
                layer.aired = 1.0
            cover *= 1 - (1 - b("ammonia_transfer_cover_factor")) * min(layer.V / (area * b("ammonia_cover_layer")), 1)
        # 7
        if wet(self.fresh.m) > 0:
            part, volume = self.fresh.take(share_lost(b("acid_conditioning_rate") * f_T * self.fresh.aired * t))
            for pool in SOLUBLE:
                react(BURN[pool], part[AT[pool]] * self.fresh.aired, part, gases)
            self.ready.add(part, volume)
        # 8
        water, solids = sum(layer.m[0] for layer in self.layers()), sum(dry(layer.m) for layer in self.layers())
        evaporated = self.evaporation(air, t, water, solids, factor)
        for layer in self.layers():
            layer.m[0] -= evaporated * layer.m[0] / water
        gases[GAS_AT["water_vapour"]] += evaporated
        drained = share_lost(b("drainage_rate") * t)
        out = self.fresh.let_out(max(self.fresh.m[0] - b("water_held_per_dry_matter") * dry(self.fresh.m), 0) * drained, acids)
        self.fresh.V = max(self.fresh.V - out[0] / 1000, 0)
        self.ready.add(out)
        self.castings.add(self.ready.let_out(self.ready.surplus() * drained, acids))
        self.drained = add(self.drained, self.castings.let_out(self.castings.surplus() * drained, acids))
        # 9
        water = sum(layer.m[0] for layer in self.layers())
        solids = sum(dry(layer.m) for layer in self.layers())
        C, loss = self.heat_capacity(water, solids), self.loss(t)
        oxygen = breathed - gases[GAS_AT["oxygen"]]
        heat = b("oxidation_heat") * oxygen - b("latent_heat_of_evaporation") * evaporated
        self.T = (C * self.T + heat + loss * air[0]) / (C + loss)
        self.gases = add(self.gases, gases)

    def heat_capacity(self, water, solids):
        return b("heat_capacity_water") * water + b("heat_capacity_dry_matter") * solids

    def loss(self, t):
        return b("bed_heat_transfer_coefficient") * self.plan["area"] * 86400 * t

    def evaporation(self, air, t, water, solids, factor):
        film = b("surface_wetness_factor") * factor.moisture(water / (water + solids)) * self.plan["area"] * 86400 * t
        film *= b("air_heat_transfer_coefficient") / b("mass_transfer_divisor")
        at = lambda T: film * (vapour_density(T) - air[1] * vapour_density(air[0]))
        first = clamp(at(self.T), 0, water / 2)
        C, loss = self.heat_capacity(water, solids), self.loss(t)

        def cooled(E):
            left = C - b("heat_capacity_water") * E
            return max((self.T * left + loss * air[0] - b("latent_heat_of_evaporation") * E) / (left + loss), -100)

        if first > 0 and cooled(first) < air[0] and at(cooled(first)) < 0:
            return root(lambda E: E - at(cooled(E)), 0, first)
        return first

    def decay(self, layer, m, m_N, cover, f_T, acids, factor, t, gases):
        area, now = self.plan["area"], layer.m[:]
        solids, water = dry(now), now[0]
        space = factor.porosity(solids, water, layer.V)
        d = f_T * factor.moisture(moisture(now)) * factor.air_space(space) * m
        oxygen_of = lambda pool: -ROW[pool][1][GAS_AT["oxygen"]]
        uptake = d * factor.oxygen * sum(rate_of(p) * oxygen_of(p) * now[AT[p]] for p in POOLS) / (86400 * layer.V)
        thickness = layer.V / area
        layer.aired = min(factor.reach(space, uptake) / thickness, 1) if uptake > 0 else 1.0
        O = layer.aired * factor.oxygen
        to_methane = b("methane_share_aired") + (1 - layer.aired) * (b("methane_share_airless") - b("methane_share_aired"))
        rows, made, freed, lost_fibre = [], 0.0, 0.0, 0.0
        for pool in POOLS:
            lost = now[AT[pool]] * share_lost(rate_of(pool) * d * O * t)
            if pool == "fibre":
                lost_fibre = lost
            if pool in METHANE:
                rows.append((METHANE[pool], lost * to_methane))
                lost *= 1 - to_methane
            rows.append((ROW[pool], lost))
            made += ROW[pool][0][AT["humus"]] * lost
            freed += BURN[pool][0][AT["ammonia"]] * lost
        a_h, NH3 = BURN["humus"][0][AT["ammonia"]], now[AT["ammonia"]]
        D_h = now[AT["humus"]] * share_lost(rate_of("humus") * d * O * t)
        short = clamp(made - (freed + NH3) / a_h, 0, made)
        rows.append((BURN["humus"], D_h + short))
        left = max(NH3 + freed - (made - D_h - short) * a_h, 0)
        kelvin = self.T + 273.15
        henry = exp(b("ammonia_henry_constant_term") + b("ammonia_henry_inverse_temperature_term") / kelvin + b("ammonia_henry_temperature_term") * kelvin)
        free, uneven = acids.free_ammonia(layer.ph), b("uneven_ph_factor")
        free = free * uneven / (1 + free * (uneven - 1))
        v = 86400 * b("ammonia_transfer_coefficient") * area * cover * dissolved_ammonium(now, rates) * free / (henry * 8.2057e-5 * kelvin * water)
        limits = [b(f"nitrifier_ph_{k}") for k in ["zero_low", "full_low", "full_high", "zero_high"]]
        x = b("nitrification_rate") * f_T * lines(list(zip(limits, [0, 1, 1, 0])), layer.ph) * m_N * O * t
        gone = left * share_lost(x + v * t)
        nitrified = gone * x / (x + v * t) if x + v * t > 0 else 0.0
        share = b("nitrous_oxide_yield_nitrification")
        rows += [(NITRIFY, nitrified * (1 - share)), (NITRIFY_N2O, nitrified * share), (VOLATILISE, gone - nitrified)]
        denitrified = now[AT["nitrate"]] * share_lost(b("denitrification_rate") * f_T * (1 - O) * t)
        denitrified = min(denitrified, 1.8 * max(now[AT["fibre"]] - lost_fibre, 0))
        share = b("nitrous_oxide_yield_denitrification")
        rows += [(DENITRIFY, denitrified * (1 - share)), (DENITRIFY_N2O, denitrified * share)]
        for row, extent in rows:
            react(row, extent, layer.m, gases)
        layer.follow(solids)


# ---------------------------------------------------------------------------------------------- the two cases


def weeks_of_a_drum(name, ingredients, dose, luck, plan, days):
    loads = [load_of(of_ph(matter(**m), ph, Acids(rates, 20.0, 0.0)), z, c) for m, ph, z, c in ingredients]
    load = [empty(), 0.0, 0.0, 0.0, 0.0]
    for one in loads:
        load = [add(load[0], one[0])] + [x + y for x, y in zip(load[1:], one[1:])]
    warmth = [20 + 4 * sin(2 * pi * day / 30) for day in range(days + 1)]
    drum = Drum(load, dose, luck, plan, 20.0)
    gases, liquor, marks, highest = {k: 0.0 for k in ["oxygen", "carbon_dioxide", "hydrogen"]}, empty(), [], 0.0
    for day, celsius in enumerate(warmth):
        out, tapped = drum.day(celsius)
        gases = {k: gases[k] + out[k] for k in gases}
        liquor = add(liquor, tapped)
        highest = max(highest, drum.gauge)
        if day in (3, 7, 14, 28) or day == days:
            marks.append({
                "day": day, "matter": drum.m[:], "ph": drum.lid_ph(), "gases": dict(gases), "liquor": liquor[:], "gauge": drum.gauge,
                "highest": highest, "spoiled": drum.spoiled,
            })
    return {
        "what": name, "plan": plan, "dose": dose, "luck": luck, "start": 20.0, "temperatures": warmth, "marks": marks,
        "ingredients": [{"matter": one[0], "free_sugar": z, "cooked_starch": c} for one, (_, _, z, c) in zip(loads, ingredients)],
    }


FRUIT = dict(
    water=88.0, sugars=6.6, fibre=2.4, lignin=0.4, protein=0.9, bound_protein=0.1, fat=0.3, acetic_acid=0.25, phosphorus=0.02, potassium=0.2,
    salt=0.05, minerals=0.6, buffer=2.4, calcium=0.6, ammonia=0.005,
)
BREAD = dict(
    water=15.0, sugars=18.5, fibre=1.8, lignin=0.2, protein=3.0, bound_protein=0.3, fat=0.9, phosphorus=0.04, potassium=0.05, salt=0.45,
    minerals=0.3, buffer=3.0, calcium=0.2,
)
FISH = dict(
    water=60.0, sugars=1.0, protein=22.0, bound_protein=1.0, fat=10.0, phosphorus=0.3, potassium=0.3, salt=0.5, minerals=2.0, buffer=14.0,
    calcium=6.0, ammonia=0.05,
)
BRAN = dict(water=0.3, sugars=1.0, fibre=0.9, lignin=0.2, protein=0.4, bound_protein=0.1, fat=0.1, minerals=0.1, lactic_acid=0.05, buffer=0.4)


def drums():
    plan = {"volume": 0.208, "valve": 2000.0, "drain": True, "tap_days": 7, "slurry": False, "leak": 0.0004}
    sound = weeks_of_a_drum("fruit and bread under a valve", [(FRUIT, 4.2, 0.9, 0.0), (BREAD, 5.8, 0.1, 0.95), (BRAN, 5.0, 0.2, 0.0)], 0.014, 1.0, plan, 42)
    closed = plan | {"volume": 0.3, "valve": None, "leak": 0.0, "slurry": True}
    bad = weeks_of_a_drum("fish and fruit under a closed lid, spoiled", [(FISH, 6.6, 1.0, 0.0), (FRUIT, 4.2, 0.9, 0.0)], 0.0, 0.0, closed, 42)
    assert not sound["marks"][-1]["spoiled"] and bad["marks"][-1]["spoiled"]
    return [sound, bad]


BEDDING = dict(
    water=210.0, sugars=0.5, fibre=30.0, lignin=18.0, protein=2.5, bound_protein=2.0, fat=0.4, humus=12.0, ammonia=0.05, nitrate=0.2, phosphorus=0.4,
    potassium=0.8, salt=0.2, minerals=20.0, buffer=4.0, calcium=12.0,
)
PASTE = dict(
    water=0.72, sugars=0.06, fibre=0.085, lignin=0.025, protein=0.036, bound_protein=0.004, fat=0.025, lactic_acid=0.014, acetic_acid=0.005,
    butyric_acid=0.001, ethanol=0.003, ammonia=0.0006, phosphorus=0.001, potassium=0.003, salt=0.002, minerals=0.0154, buffer=0.012, calcium=0.02,
)


def bed():
    plan = {
        "area": 4.0, "depth": 0.6, "low": 0.72, "high": 0.8, "leaching": 0.05, "fresh_share_limit": 0.225, "largest_layer": 0.03, "hottest": 28.0,
        "coldest": 5.0, "overfeed_days": 5.0,
    }
    acids = Acids(rates, 20.0, b("pore_carbon_dioxide"))
    bedding, paste = of_ph(matter(**BEDDING), 7.2, acids), of_ph(matter(**PASTE), 3.9, acids)
    worms = Worms.adults(3.0)
    worms.join(Worms.stable(3.0))
    days, steps, ration, density, volume = 200, 2, 0.4, 620.0, 0.48
    air = [[19 + 5 * sin(2 * pi * day / 120), 0.7 + 0.1 * cos(2 * pi * day / 60)] for day in range(days)]
    one = Bed(plan, bedding, volume, 18.0, worms)
    fed, marks = 0.0, []
    for day in range(days):
        amount = one.room_for_feed(ration, density)
        one.fresh.add(scaled(paste, amount), amount / density)
        fed += amount
        zone = one.day(air[day], steps)
        if (day + 1) % 25 == 0:
            count = one.worms.numbers
            marks.append({
                "day": day + 1, "fed": fed, "layers": [layer.m[:] for layer in one.layers()], "volumes": [layer.V for layer in one.layers()],
                "temperature": one.T, "stock": one.worms.B(), "cocoons": sum(count[0]), "juveniles": sum(count[1]), "subadults": sum(count[2]),
                "adults": count[3][0], "condition": one.worms.q, "body": one.worms.g, "size": one.worms.s, "gases": dict(zip(GASES, one.gases)),
                "drained": one.drained[:], "irrigated": one.irrigated, "zone_ph": zone["ph"], "zone_porosity": zone["porosity"],
                "zone_units": zone["units"],
            })
    return {
        "plan": plan, "bedding": bedding, "volume": volume, "start": 18.0, "adults": 3.0, "stable": 3.0, "steps": steps, "ration": ration,
        "paste": paste, "density": density, "air": air, "marks": marks,
    }


if __name__ == "__main__":
    content = {"script": "tests/reference/by_the_book.py", "python": platform.python_version(), "drums": drums(), "bed": bed()}
    save("by_the_book.json", content | {"rates": rates.asked})
