"""The bed-day of by_the_book.py for many beds at once: arrays in place of numbers, `where` in place of branches. It needs numpy.

Run: python beds_in_numpy.py           checks 200 days of the bed of by_the_book.json and of beds that differ, one at a time, within 1e-6
     python beds_in_numpy.py --time    prints the time of a bed-day by the number of beds, on one thread
"""

import os

for name in ["OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"]:
    os.environ[name] = "1"

import json
import pathlib
import sys
import time
from math import cos, log, pi, sin

import numpy as np

import by_the_book as book
from book_matter import AT, COMPONENTS, ENTRIES, FORMULAS, GASES, GAS_AT, POOLS, R, SOLUBLE, Acids, Factors, matter, molar, of_ph

b, w, rates = book.b, book.w, book.rates
SOLIDS = slice(1, len(COMPONENTS))
WET = slice(0, len(COMPONENTS))
FRESH, READY, CASTINGS = range(3)


def columns(rows):
    """Reactions as matrices: matter and gases per extent of each."""
    return np.array([row[0] for row in rows]).T.copy(), np.array([row[1] for row in rows]).T.copy()


def weights(values):
    """A row over all entries from values by name."""
    row = np.zeros(len(ENTRIES))
    for name, value in values.items():
        row[AT[name]] = value
    return row


def share_lost(x):
    return 1 - np.exp(-x)


# reactions of decay, in the order of their extents: pools, methane, humus, the fates of nitrogen
METHANE = list(book.METHANE)
DECAY = columns(
    [book.ROW[pool] for pool in POOLS] + [book.METHANE[pool] for pool in METHANE] + [book.BURN["humus"]]
    + [book.NITRIFY, book.NITRIFY_N2O, book.VOLATILISE, book.DENITRIFY, book.DENITRIFY_N2O]
)
ACID_BURN = columns([book.BURN[pool] for pool in SOLUBLE])
FOOD_BURN = columns([book.BURN[pool] for pool in ["sugars", "fibre"]])
POOL_ROWS = [AT[pool] for pool in POOLS]
RATES = np.array([book.rate_of(pool) for pool in POOLS])
DISTINCT, SAME_RATE = np.unique(RATES, return_inverse=True)
HUMUS_MADE = np.array([book.ROW[pool][0][AT["humus"]] for pool in POOLS])
NITROGEN_FREED = np.array([book.BURN[pool][0][AT["ammonia"]] for pool in POOLS])
UPTAKE = weights({pool: book.rate_of(pool) * -book.ROW[pool][1][GAS_AT["oxygen"]] for pool in POOLS})
CARBON = weights({pool: molar.carbon(pool) for pool in POOLS + ["humus"]})
LET_OUT = weights(
    {k: b("drain_solubility_acids_and_salts") for k in book.DRAINS} | {k: b(f"drain_solubility_{k}") for k in ["potassium", "phosphorus"]}
)[:, None]
TISSUE = np.array(book.tissue())
TISSUE_ROWS = np.flatnonzero(TISSUE > 0)
ACID_MOLES = np.array([1 / molar(k) for k in SOLUBLE[:3]])


class Chemistry:
    """Acid constants of beds at their temperatures, as powers of ten."""

    def __init__(self, celsius):
        acids = Acids(rates, 20.0, b("pore_carbon_dioxide"))
        self.acid = 10.0 ** np.array(acids.pka)
        self.ammonium = 10.0 ** (b("ammonium_pka_constant") + b("ammonium_pka_slope") / (celsius + 273.15))
        self.carbonate, self.calcium, self.humus = acids.carbonate, 2 * acids.k / acids.pressure, acids.humus

    def free_ammonia(self, h):
        return 1 / (1 + self.ammonium * h)

    def calcium_share(self, m, h):
        most = self.calcium * m[0] * h * h
        there = most + m[AT["calcium"]]
        return np.divide(most, there, out=np.ones_like(most), where=there > 0)

    def excess(self, m, ph, h):
        """Anions less cations, eq, and its slope by pH over log 10; h is 10^-pH."""
        total, slope = m[AT["nitrate"]] / molar("nitrate") - m[AT["base"]], 0.0
        for k, constant, moles in zip(SOLUBLE, self.acid, ACID_MOLES):
            part = 1 / (1 + constant * h)
            anions = moles * m[AT[k]] * part
            total = total + anions
            slope = slope + anions * (1 - part)
        buffer = m[AT["buffer"]] + self.humus * m[AT["humus"]]
        free, moles = self.free_ammonia(h), m[AT["ammonia"]] / molar("ammonia")
        bound, calcium = moles * (1 - free), m[AT["calcium"]]
        share = self.calcium_share(m, h)
        hydroxide, hydrogen = m[0] * (self.carbonate + 1e-14) / h, m[0] * h
        total = total + buffer * (ph - 7) + hydroxide - calcium * share - bound - hydrogen
        slope = slope + buffer / log(10) + hydroxide + 2 * calcium * share * (1 - share) + bound * free + hydrogen
        return total, slope

    def ph(self, m, guess):
        """Newton's method within a bracket that each step narrows, so that it is safe from any guess."""
        low, high, ph = np.zeros_like(guess), np.full_like(guess, 14.0), guess.copy()
        for _ in range(60):
            total, slope = self.excess(m, ph, 10.0 ** -ph)
            low, high = np.where(total < 0, ph, low), np.where(total > 0, ph, high)
            step = np.divide(total, slope, out=np.zeros_like(total), where=slope > 0) / log(10)
            new = ph - step
            new = np.where((new < low) | (new > high), (low + high) / 2, new)
            moved = np.abs(new - ph).max()
            ph = new
            if moved < 1e-9:
                return ph
        raise ArithmeticError("a pH was not found")


def dissolved(m):
    humus = m[AT["humus"]]
    kept = b("ammonium_partition_humus") * humus + b("ammonium_partition_rest") * (m[SOLIDS].sum(0) - humus)
    total = m[0] + kept
    return np.divide(m[0], total, out=np.zeros_like(total), where=total > 0)


def held(volume, solids):
    return np.maximum(1000 * (volume * (1 - b("drained_air")) - solids / b("solid_density")), 0)


def interpolated(points, x):
    return np.interp(x, *zip(*points))


def pace_of(t):
    base, high = w("growth_temperature_base"), w("growth_temperature_maximum")
    curve = np.where((t > max(base, 0)) & (t < high), t * (t - base) * np.sqrt(np.maximum(high - t, 0)), 0.0)
    return curve / (25 * (25 - base) * (high - 25) ** 0.5)


class Worms:
    """Numbers by stage, (stage, bed)."""

    def __init__(self, each):
        """From a population of by_the_book for each bed."""
        self.numbers = [np.array([one.numbers[stage] for one in each]).T.copy() for stage in range(3)]
        self.adults = np.array([one.numbers[3][0] for one in each])
        self.q, self.g, self.s = (np.array([getattr(one, k) for one in each]) for k in "qgs")
        self.young = [np.array(mass) for mass in each[0].mass[:2]]
        self.grown = each[0].mass[2][0]

    def frames(self):
        return [mass @ numbers for mass, numbers in zip(self.young, self.numbers[1:])] + [self.grown * self.s * self.adults]

    def stock(self):
        return self.g * sum(self.frames())

    def live(self):
        return self.stock() + w("cocoon_mass_measured") * self.numbers[0].sum(0)

    def day(self, t, zone, area, feed):
        """Eaten, stock of the morning, tissue lost."""
        frames, cocoons = self.frames(), self.numbers[0].sum(0)
        B = self.g * sum(frames)
        D = B / area
        phi_T = pace_of(t)
        place = np.minimum(interpolated(book.MOISTURE, zone["moisture"]), interpolated(book.ACIDITY, zone["ph"]))
        phi_E, phi_L = np.minimum(place, zone["feeding"]), np.minimum(place, zone["laying"])
        # 1, 2, 3: every bed has worms
        i_max, i_m = w("maximum_intake"), w("maintenance_intake")
        crowded = (D / w("intake_density_half_effect")) ** 2
        E = np.minimum(i_max * phi_T / (1 + crowded) * phi_E * B, np.maximum(feed, 0))
        warm = np.divide(E, B * phi_T, out=np.full_like(E, i_m), where=phi_T > 0)
        food = np.clip((warm - i_m) / (i_max - i_m), -1, 1)
        full, tau = np.maximum(food, 0), max(w("condition_time_constant"), 1)
        self.q = self.q + (full - self.q) / tau
        thinner = self.g * (1 - w("starvation_loss_rate") * phi_T * np.maximum(1 - warm / i_m, 0))
        self.g = np.where(food >= 0, self.g + (1 - self.g) * food / tau, thinner)
        least, most = w("adult_size_at_maintenance"), w("adult_size_at_full_food")
        sought = least + (most - least) * self.q
        r = np.where(sought < self.s, w("starvation_loss_rate"), np.where(food > 0, 1 / max(w("adult_growth_time"), 1), 0.0))
        self.s = self.s + (sought - self.s) * np.minimum(r * phi_T, 1)
        # 4
        laid = w("cocoon_rate_per_adult") * interpolated(book.LAYING, t) * phi_L * self.q * self.adults
        laid = laid / (1 + (D / w("laying_density_half_effect")) ** 2)
        # 5
        heat = w("heat_extra_death_rate_per_kelvin") * np.maximum(t - 33, 0) + w("heat_extra_death_rate_above_38_celsius") * (t > 38)
        extra = heat + zone["deaths"] + w("low_condition_extra_death_rate") * (self.g < w("low_condition_threshold"))
        extra = extra + w("cold_extra_death_rate_below_0_celsius") * (t < 0)
        extra = extra + w("acid_death_rate_without_refuge") * ((zone["ph"] < 5) & ~zone["refuge"])
        extra = extra + w("alkali_death_rate") * np.clip((zone["ph"] - 9) / 0.5, 0, 1)
        die = [w("cocoon_death_rate") + heat, w("juvenile_death_rate") + extra + w("crowding_juvenile_death_rate") * crowded]
        die = [np.minimum(x, 1) for x in [*die, w("subadult_death_rate") + extra, w("adult_death_rate") + extra]]
        # 6
        entering, hatched = laid, 0.0
        for stage, kind in enumerate(["cocoon", "juvenile", "subadult"]):
            pace = phi_T if stage == 0 else phi_T * full
            p = np.minimum(book.STAGES[stage] / w(f"{kind}_duration") * pace, 1)
            left = self.numbers[stage] * (1 - die[stage])
            moving = left * p
            left -= moving
            left[0] += entering
            left[1:] += moving[:-1]
            self.numbers[stage], entering = left, moving[-1]
            if stage == 0:
                hatched = entering = entering * (w("cocoon_hatch_share") * w("hatchlings_per_hatched_cocoon"))
        self.adults = self.adults * (1 - die[3]) + entering
        new = np.divide(entering, self.adults, out=np.zeros_like(entering), where=entering > 0)
        self.s = self.s + (w("mass_at_maturity") / w("adult_mass") - self.s) * new
        lost = self.g * sum(d * frame for d, frame in zip(die[1:], frames))
        lost = lost + w("cocoon_mass_measured") * (cocoons + laid - self.numbers[0].sum(0)) - hatched * self.g * self.young[0][0]
        return E, B, lost


class Beds:
    """Beds side by side: matter by (layer, entry, bed), volumes by (layer, bed). Figures of the plan are numbers or one per bed."""

    def __init__(self, plan, bedding, volume, celsius, worms):
        n = len(volume)
        self.plan, self.T, self.worms = plan, celsius.copy(), worms
        self.m, self.V = np.zeros((3, len(ENTRIES), n)), np.zeros((3, n))
        self.m[CASTINGS], self.V[CASTINGS] = bedding, volume
        self.ph, self.aired = np.full((3, n), 7.0), np.ones((3, n))
        self.zone_ph, self.wetted = np.full(n, 7.0), np.zeros(n, dtype=bool)
        self.gases, self.drained, self.irrigated = np.zeros((len(GASES), n)), np.zeros((len(ENTRIES), n)), np.zeros(n)

    def room_for_feed(self, ration, density):
        p, B = self.plan, self.worms.stock()
        eating = w("maximum_intake") * B / (1 + (B / p["area"] / w("intake_density_half_effect")) ** 2)
        wet = self.m[:, WET].sum(1)
        limit, depth = p["fresh_share_limit"], self.V.sum(0) / p["area"]
        room = np.minimum(p["largest_layer"], p["depth"] - depth) * p["area"] * density
        most = np.minimum((limit * wet.sum(0) - wet[FRESH]) / (1 - limit), room)
        amount = np.maximum(np.minimum(ration * B, most), 0)
        fit = (B > 0) & (p["coldest"] <= self.T) & (self.T <= p["hottest"])
        fit &= self.m[READY, SOLIDS].sum(0) / w("feed_dry_share") <= p["overfeed_days"] * eating
        return np.where(fit, amount, 0.0)

    def feed(self, paste, amount, density):
        self.m[FRESH] += paste * amount
        self.V[FRESH] += amount / density

    def day(self, air, steps):
        acids = Chemistry(self.T)
        self.water_it(acids)
        zone = self.zone(acids)
        edible = self.m[READY, SOLIDS].sum(0) / w("feed_dry_share")
        before = self.worms.live()
        E, B, lost = self.worms.day(self.T, zone, self.plan["area"], edible)
        breathed = self.meal(acids, E, B, edible, self.worms.live() - before, lost, before)
        solids = self.m[CASTINGS, SOLIDS].sum(0)
        turns = [np.zeros_like(E), np.divide(E, edible, out=np.zeros_like(E), where=edible > 0), E * w("feed_dry_share") / solids]
        parts = [z / (z + b("worm_activity_half")) for z in turns]
        work = [(1 + (b("worm_decay_multiplier") - 1) * part, 1 + b("worm_nitrification_rise") * part) for part in parts]
        for _ in range(steps):
            self.step(air, 1 / steps, work, breathed / steps)
        return zone

    def let_out(self, layer, x, acids):
        m = self.m[layer]
        if not (x > 0).any():
            return 0.0
        share = np.divide(x, m[0], out=np.zeros_like(x), where=x > 0)
        h = 10.0 ** -self.ph[layer]
        calcium = m[AT["calcium"]] * acids.calcium_share(m, h) * share
        out = m * (LET_OUT * share)
        out[0] = np.maximum(x, 0)
        out[AT["ammonia"]] = m[AT["ammonia"]] * share * dissolved(m)
        out[AT["base"]] = acids.excess(out, self.ph[layer], h)[0] - calcium
        out[AT["calcium"]] = calcium
        m -= out
        return out

    def surplus(self, layer):
        return np.maximum(self.m[layer, 0] - held(self.V[layer], self.m[layer, SOLIDS].sum(0)), 0)

    def follow(self, layer, before):
        after = self.m[layer, SOLIDS].sum(0)
        self.V[layer] *= np.maximum(np.divide(after, before, out=np.ones_like(after), where=before > 0), 0)

    # 1
    def water_it(self, acids):
        p, m = self.plan, self.m
        water = m[READY, 0] + m[CASTINGS, 0]
        ready, castings = m[READY, SOLIDS].sum(0), m[CASTINGS, SOLIDS].sum(0)
        solids, aim = ready + castings, (p["low"] + p["high"]) / 2
        thirsty = (self.worms.stock() > 0) & (water < p["low"] * (water + solids))
        most = held(self.V[READY], ready) + held(self.V[CASTINGS], castings)
        added = np.where(thirsty, np.maximum(np.minimum(aim * solids / (1 - aim), most) - water, 0), 0.0)
        more = np.where(self.wetted, added * p["leaching"] / (1 - p["leaching"]), 0.0)
        m[READY, 0] += added * ready / solids
        m[CASTINGS, 0] += added * castings / solids + more
        self.drained += self.let_out(CASTINGS, more, acids)
        self.irrigated += added + more
        self.wetted |= added > 0

    # 2
    def zone(self, acids):
        p, m = self.plan, self.m
        wet = m[:, WET].sum(1)
        acid = (self.V[FRESH] / p["area"] > w("acid_refuge_layer")) & (wet[FRESH] / wet.sum(0) > p["fresh_share_limit"] + 1e-9)
        all_of, volume = m[READY] + m[CASTINGS], self.V[READY] + self.V[CASTINGS]
        if acid.any():
            all_of, volume = all_of + np.where(acid, m[FRESH], 0.0), volume + np.where(acid, self.V[FRESH], 0.0)
        self.zone_ph = ph = acids.ph(all_of, self.zone_ph)
        water, solids = all_of[0], all_of[SOLIDS].sum(0)
        space = np.clip(1 - (solids / b("solid_density") + water / 1000) / volume, 0, 1)
        salt = 1000 * all_of[AT["salt"]] / water
        total = dissolved(all_of) * all_of[AT["ammonia"]] * 14.007 / molar("ammonia") / water
        units = total / b("ammonia_toxic_unit_total") + acids.free_ammonia(10.0**-ph) * total / b("ammonia_toxic_unit_free")
        full, none = b("salt_response_full_limit"), b("salt_response_zero")
        low, enough = b("air_porosity_response_zero"), b("air_porosity_response_full")
        breath = np.clip((space - low) / (enough - low), 0, 1)
        most, per_day = b("toxic_death_rate"), log(2) / 28
        eating = np.minimum(np.clip((none - salt) / (none - full), 0, 1), np.clip((1.4 - units) / 0.8, 0, 1))
        laying = np.minimum(1 / (1 + (salt / b("salt_laying_half_effect")) ** 3), 1 / (1 + units * units * units))
        by_salt, squared = (salt / b("salt_lethal_level")) ** 2, units * units
        return {
            "moisture": water / (water + solids), "ph": ph, "refuge": ~acid, "porosity": space, "units": units,
            "feeding": np.minimum(eating, breath), "laying": np.minimum(laying, breath),
            "deaths": np.minimum(per_day * by_salt * by_salt * by_salt, most) + np.minimum(per_day * squared * squared, most),
        }

    # 4
    def meal(self, acids, E, B, edible, growth, lost, before):
        share = np.divide(E, edible, out=np.zeros_like(E), where=edible > 0)
        share = np.minimum(share, 1)
        meal = self.m[READY] * share
        self.m[READY] -= meal
        self.V[READY] -= self.V[READY] * share
        breath = b("worm_respired_carbon_20_celsius") * b("worm_respiration_q10") ** ((self.T - 20) / 10) * B
        wanted = np.minimum(breath, b("worm_carbon_assimilation") * (CARBON @ meal)) / molar.carbon("sugars")
        burnt = np.empty((2, len(E)))
        burnt[0] = np.maximum(np.minimum(wanted, meal[AT["sugars"]]), 0)
        # burning makes no fibre
        burnt[1] = np.maximum(np.minimum(wanted - burnt[0], meal[AT["fibre"]]), 0)
        meal += FOOD_BURN[0] @ burnt
        gases = FOOD_BURN[1] @ burnt
        solids = meal[SOLIDS].sum(0)
        volume = solids / b("castings_dry_density")
        beyond = meal[0] - held(volume, solids)
        m = self.m[CASTINGS]
        m += meal
        self.V[CASTINGS] += volume
        self.drained += self.let_out(CASTINGS, np.maximum(np.minimum(beyond, self.surplus(CASTINGS)), 0), acids)
        most = np.maximum(w("largest_allowed_conversion") * E - lost, 0)
        for i in TISSUE_ROWS:
            there = m[i] + m[AT["fibre"]] if i == AT["sugars"] else m[i]
            most = np.minimum(most, there / TISSUE[i])
        evening = self.worms.stock()
        beyond = np.maximum(growth - most, 0) * (growth > 0)
        self.worms.g = self.worms.g * np.maximum(evening - beyond, 0) / evening
        growth = np.where(beyond > 0, self.worms.live() - before, growth)
        solids = m[SOLIDS].sum(0)
        m -= TISSUE[:, None] * growth
        short = np.maximum(-m[AT["sugars"]], 0)
        m[AT["sugars"]] += short
        m[AT["fibre"]] -= short
        self.follow(CASTINGS, solids)
        self.gases += gases
        return -gases[GAS_AT["oxygen"]]

    def step(self, air, t, work, breathed):
        acids, area, m = Chemistry(self.T), self.plan["area"], self.m
        rise, fall = b("decay_temperature_base_rise"), b("decay_temperature_base_fall")
        f_T = np.maximum(np.exp(log(rise) * (self.T - 20)) - np.exp(log(fall) * (self.T - 60)), 0)
        gases = np.zeros_like(self.gases)
        # 6
        self.ph = np.where(m[:, 0] > 0, acids.ph(m.transpose(1, 0, 2), self.ph), self.ph)
        cover = 1.0
        for layer, (speed, nitrifiers) in enumerate(work):
            self.decay(layer, speed, nitrifiers, cover, f_T, acids, t, gases)
            cover = cover * (1 - (1 - b("ammonia_transfer_cover_factor")) * np.minimum(self.V[layer] / (area * b("ammonia_cover_layer")), 1))
        # 7
        share = share_lost(b("acid_conditioning_rate") * f_T * self.aired[FRESH] * t)
        part, volume = m[FRESH] * share, self.V[FRESH] * share
        m[FRESH] -= part
        self.V[FRESH] -= volume
        burnt = part[[AT[k] for k in SOLUBLE]] * self.aired[FRESH]
        m[READY] += part
        m[READY] += ACID_BURN[0] @ burnt
        gases += ACID_BURN[1] @ burnt
        self.V[READY] += volume
        # 8
        water, solids = m[:, 0].sum(0), m[:, SOLIDS].sum((0, 1))
        evaporated = self.evaporation(air, t, water, solids)
        m[:, 0] -= evaporated * m[:, 0] / water
        gases[GAS_AT["water_vapour"]] += evaporated
        drains = 1 - np.exp(-b("drainage_rate") * t)
        above = np.maximum(m[FRESH, 0] - b("water_held_per_dry_matter") * m[FRESH, SOLIDS].sum(0), 0) * drains
        out = self.let_out(FRESH, above, acids)
        self.V[FRESH] = np.maximum(self.V[FRESH] - above / 1000, 0)
        m[READY] += out
        m[CASTINGS] += self.let_out(READY, self.surplus(READY) * drains, acids)
        self.drained += self.let_out(CASTINGS, self.surplus(CASTINGS) * drains, acids)
        # 9
        C, loss = self.capacity(m[:, 0].sum(0), m[:, SOLIDS].sum((0, 1))), self.loss(t)
        heat = b("oxidation_heat") * (breathed - gases[GAS_AT["oxygen"]]) - b("latent_heat_of_evaporation") * evaporated
        self.T = (C * self.T + heat + loss * air[0]) / (C + loss)
        self.gases += gases

    def capacity(self, water, solids):
        return b("heat_capacity_water") * water + b("heat_capacity_dry_matter") * solids

    def loss(self, t):
        return b("bed_heat_transfer_coefficient") * self.plan["area"] * 86400 * t

    def evaporation(self, air, t, water, solids):
        wetness = 1 / (1 + np.exp(b("decay_moisture_offset") - b("decay_moisture_slope") * water / (water + solids)))
        film = b("surface_wetness_factor") * wetness * self.plan["area"] * 86400 * t
        film = film * (b("air_heat_transfer_coefficient") / b("mass_transfer_divisor"))
        density = lambda T: 611.2 * np.exp(17.62 * T / (243.12 + T)) * molar("water") / (R * (T + 273.15))
        outside = air[1] * density(air[0])
        first = np.clip(film * (density(self.T) - outside), 0, water / 2)
        C, loss = self.capacity(water, solids), self.loss(t)
        warmth = self.T * C + loss * air[0]

        def cooled(E):
            taken = b("heat_capacity_water") * E
            return np.maximum((warmth - self.T * taken - b("latent_heat_of_evaporation") * E) / (C - taken + loss), -100)

        end = cooled(first)
        deep = (first > 0) & (end < air[0]) & (film * (density(end) - outside) < 0)
        if not deep.any():
            return first
        low, high = np.zeros_like(first), first.copy()
        for _ in range(50):
            middle = (low + high) / 2
            beyond = middle - film * (density(cooled(middle)) - outside) > 0
            low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
        return np.where(deep, (low + high) / 2, first)

    def decay(self, layer, speed, nitrifiers, cover, f_T, acids, t, gases):
        now, area, V = self.m[layer], self.plan["area"], self.V[layer]
        water, solids = now[0], now[SOLIDS].sum(0)
        there = water > 0
        if not there.any():
            self.aired[layer] = 1.0
            return
        safe, wet = np.where(V > 0, V, 1.0), np.where(there, water + solids, 1.0)
        inside = b("oxygen_in_reached_layer")
        oxygen = inside / (inside + b("decay_oxygen_half_saturation"))
        space = np.where(V > 0, np.clip(1 - (solids / b("solid_density") + water / 1000) / safe, 0, 1), 0.0)
        damp = 1 + np.exp(b("decay_moisture_offset") - b("decay_moisture_slope") * water / wet)
        airy = 1 + np.exp(b("decay_air_space_offset") - b("decay_air_space_slope") * space)
        d = f_T * speed / (damp * airy)
        uptake = d * oxygen * (UPTAKE @ now) / (86400 * safe)
        across = 2 * b("oxygen_diffusivity_in_air") * b("oxygen_in_air") / b("layer_total_porosity") ** 2
        reach = np.sqrt(np.divide(across * space**3 * np.cbrt(space), uptake, out=np.full_like(uptake, np.inf), where=uptake > 0))
        self.aired[layer] = aired = np.minimum(reach * area / safe, 1)
        O = aired * oxygen
        to_methane = b("methane_share_aired") + (1 - aired) * (b("methane_share_airless") - b("methane_share_aired"))
        x = np.empty((DECAY[0].shape[1], len(water)))
        pools, methane = x[: len(POOLS)], x[len(POOLS) : len(POOLS) + 2]
        lost = share_lost(DISTINCT[:, None] * (d * O * t))
        for i, row in enumerate(POOL_ROWS):
            np.multiply(now[row], lost[SAME_RATE[i]], out=pools[i])
        fibre = pools[POOLS.index("fibre")].copy()
        for i, pool in enumerate(METHANE):
            row = pools[POOLS.index(pool)]
            np.multiply(row, to_methane, out=methane[i])
            row -= methane[i]
        made, freed = HUMUS_MADE @ pools, NITROGEN_FREED @ pools
        a_h, NH3 = book.BURN["humus"][0][AT["ammonia"]], now[AT["ammonia"]]
        D_h = now[AT["humus"]] * share_lost(book.rate_of("humus") * d * O * t)
        burnt = D_h + np.clip(made - (freed + NH3) / a_h, 0, made)
        left = np.maximum(NH3 + freed - (made - burnt) * a_h, 0)
        kelvin = self.T + 273.15
        henry = np.exp(b("ammonia_henry_constant_term") + b("ammonia_henry_inverse_temperature_term") / kelvin + b("ammonia_henry_temperature_term") * kelvin)
        free, uneven = acids.free_ammonia(10.0 ** -self.ph[layer]), b("uneven_ph_factor")
        free = free * uneven / (1 + free * (uneven - 1))
        v = 86400 * b("ammonia_transfer_coefficient") * area * cover * dissolved(now) * free / (henry * 8.2057e-5 * kelvin * np.where(there, water, 1.0))
        limits = [b(f"nitrifier_ph_{k}") for k in ["zero_low", "full_low", "full_high", "zero_high"]]
        n = b("nitrification_rate") * f_T * np.interp(self.ph[layer], limits, [0, 1, 1, 0]) * nitrifiers * O * t
        both = n + v * t
        gone = left * share_lost(both)
        nitrified = np.divide(gone * n, both, out=np.zeros_like(gone), where=both > 0)
        denitrified = now[AT["nitrate"]] * share_lost(b("denitrification_rate") * f_T * (1 - O) * t)
        denitrified = np.minimum(denitrified, 1.8 * np.maximum(now[AT["fibre"]] - fibre, 0))
        share_n, share_d = b("nitrous_oxide_yield_nitrification"), b("nitrous_oxide_yield_denitrification")
        fates = [burnt, nitrified * (1 - share_n), nitrified * share_n, gone - nitrified, denitrified * (1 - share_d), denitrified * share_d]
        for i, fate in enumerate(fates):
            x[len(POOLS) + 2 + i] = fate
        now += DECAY[0] @ x
        gases += DECAY[1] @ x
        self.follow(layer, solids)


# ---------------------------------------------------------------------------------------------- beds that differ


def variant(i):
    """What differs from the bed of by_the_book.json, by the number of the bed; bed 0 is that bed."""
    wave = lambda step, size: 1 + size * sin(step * i)
    return {
        "area": 4.0 * wave(1.3, 0.3), "bedding": wave(0.7, 0.3), "worms": wave(2.1, 0.6), "ration": 0.4 * wave(0.4, 0.5),
        "leaching": 0.05 * wave(0.9, 0.9), "start": 18.0 + 6 * sin(1.1 * i), "low": 0.72 * wave(1.7, 0.03),
    }


DENSITY, STEPS = 620.0, 2


def air_of(day):
    return [19 + 5 * sin(2 * pi * day / 120), 0.7 + 0.1 * cos(2 * pi * day / 60)]


def parts_of(of):
    """Plan, bedding, paste, volume and worms of a variant."""
    plan = {
        "area": of["area"], "depth": 0.6, "low": of["low"], "high": 0.8, "leaching": of["leaching"], "fresh_share_limit": 0.225,
        "largest_layer": 0.03, "hottest": 28.0, "coldest": 5.0, "overfeed_days": 5.0,
    }
    acids = Acids(rates, 20.0, b("pore_carbon_dioxide"))
    bedding = of_ph(matter(**{k: x * of["bedding"] for k, x in book.BEDDING.items()}), 7.2, acids)
    paste = of_ph(matter(**book.PASTE), 3.9, acids)
    worms = book.Worms.adults(3.0 * of["worms"])
    worms.join(book.Worms.stable(3.0 * of["worms"]))
    return plan, bedding, paste, 0.48 * of["bedding"], worms


def side_by_side(variants):
    """Beds, paste and rations."""
    parts = [parts_of(of) for of in variants]
    plan = {k: np.array([one[0][k] for one in parts]) for k in parts[0][0]}
    array = lambda i: np.array([one[i] for one in parts])
    start = np.array([of["start"] for of in variants])
    beds = Beds(plan, array(1).T, array(3), start, Worms([one[4] for one in parts]))
    return beds, parts[0][2], np.array([of["ration"] for of in variants])


def days_of(beds, paste, ration, days, steps=STEPS, seen=None):
    paste = np.array(paste)[:, None]
    for day in range(days):
        beds.feed(paste, beds.room_for_feed(ration, DENSITY), DENSITY)
        zone = beds.day(air_of(day), steps)
        if seen and (day + 1) % 25 == 0:
            seen(day + 1, zone)


def figures_beside(beds, zone, i):
    """Figures of a bed under the names of by_the_book.json."""
    worms = beds.worms
    return {
        "layers": beds.m[:, :, i].copy(), "volumes": beds.V[:, i].copy(), "temperature": beds.T[i], "stock": worms.stock()[i],
        "cocoons": worms.numbers[0][:, i].sum(), "juveniles": worms.numbers[1][:, i].sum(), "subadults": worms.numbers[2][:, i].sum(),
        "adults": worms.adults[i], "condition": worms.q[i], "body": worms.g[i], "size": worms.s[i], "gases": beds.gases[:, i].copy(),
        "drained": beds.drained[:, i].copy(), "irrigated": beds.irrigated[i], "zone_ph": zone["ph"][i], "zone_porosity": zone["porosity"][i],
        "zone_units": zone["units"][i],
    }


def largest_gap(ours, theirs):
    """Largest gap over the largest number beside it in the same list."""
    worst = 0.0
    for name, mine in ours.items():
        other = theirs[name]
        other = np.array(list(other.values()) if isinstance(other, dict) else other)
        scale = np.abs(other).max(initial=0.0, axis=-1, keepdims=True) if other.ndim else np.abs(other)
        gap = np.abs(mine - other)
        worst = max(worst, float(np.max(gap / np.where(scale > 0, scale, 1.0))))
    return worst


def one_at_a_time(of, days):
    """The bed of a variant as by_the_book runs it: its marks."""
    plan, bedding, paste, volume, worms = parts_of(of)
    one, marks = book.Bed(plan, bedding, volume, of["start"], worms), []
    for day in range(days):
        amount = one.room_for_feed(of["ration"], DENSITY)
        one.fresh.add(book.scaled(paste, amount), amount / DENSITY)
        zone = one.day(air_of(day), STEPS)
        if (day + 1) % 25 == 0:
            count = one.worms.numbers
            marks.append({
                "layers": [layer.m[:] for layer in one.layers()], "volumes": [layer.V for layer in one.layers()], "temperature": one.T,
                "stock": one.worms.B(), "cocoons": sum(count[0]), "juveniles": sum(count[1]), "subadults": sum(count[2]),
                "adults": count[3][0], "condition": one.worms.q, "body": one.worms.g, "size": one.worms.s, "gases": one.gases[:],
                "drained": one.drained[:], "irrigated": one.irrigated, "zone_ph": zone["ph"], "zone_porosity": zone["porosity"],
                "zone_units": zone["units"],
            })
    return marks


def check(days=200, others=6):
    beds, paste, ration = side_by_side([variant(i) for i in range(others + 1)])
    ours = []
    days_of(beds, paste, ration, days, STEPS, lambda day, zone: ours.append([figures_beside(beds, zone, i) for i in range(others + 1)]))
    stored = json.loads((pathlib.Path(__file__).parent / "by_the_book.json").read_text())["bed"]["marks"]
    for i in range(others + 1):
        theirs = stored if i == 0 else one_at_a_time(variant(i), days)
        gaps = [largest_gap(mark[i], other) for mark, other in zip(ours, theirs, strict=True)]
        print(f"bed {i}: largest gap {max(gaps):.1e} of the largest number of its kind")
        assert max(gaps) < 1e-6


def timed(again=8):
    """Least processor time of a bed-day by steps a day and number of beds; they are fed as in the check."""
    for steps in [1, 2]:
        for n in [22, 200, 1000, 3000, 10000, 20000]:
            beds, paste, ration = side_by_side([variant(i % 25) for i in range(n)])
            days_of(beds, paste, ration, 10, steps)
            took, days = [], 2 + 200 // n
            for _ in range(again):
                start = time.process_time()
                days_of(beds, paste, ration, days, steps)
                took.append((time.process_time() - start) / (days * n))
            print(f"{steps} steps a day, {n} beds: {1e6 * min(took):.2f} microseconds a bed-day", flush=True)


if __name__ == "__main__":
    timed() if "--time" in sys.argv else check()
