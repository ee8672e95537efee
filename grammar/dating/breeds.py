"""Which breed a herd list means: common names, codes of two and three letters, crosses.

Codes: Farm Data Standards, animal breed list (ICAR codes of three and two letters, and prefixes);
bull codes and the names that farms use are common practice, no source. HI stands in that list for
Holstein and for Highland, so it is neither.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache

#: Breeds of milk, each with the other names it goes by.
DAIRY: dict[str, str] = {
    "holstein": "hol ho hf fri fr red rw brf dfr hfs bw rho 'holstein-friesian' "
    "'holstein friesian' friesian 'british friesian' 'red holstein' 'holstein black and white' "
    "'holstein red and white' 'black and white' 'red and white'",
    "jersey": "jer je",
    "ayrshire": "ays ay ayr rdc",
    "guernsey": "gue gu",
    "brown swiss": "bsw bs braunvieh",
    "milking shorthorn": "msh ms 'dairy shorthorn'",
    "montbeliarde": "mon mo montbeliard",
    "normande": "nmd no normandy",
    "norwegian red": "nr nrf",
    "swedish red": "srb",
    "scandinavian red": "'viking red' vr re 'european red'",
    "danish red": "rdm 'red dane'",
    "abondance": "abo ab",
    "tarantaise": "tar ta tarentaise",
    "kerry": "ker",
    "girolando": "gir 'dairy gir'",
    "sahiwal": "sah sw",
    "meuse-rhine-yssel": "mry mri 'meuse rhine yssel' 'meuse rhine issel'",
    "dairy": "'dairy cross' dairyx",
}
#: Breeds of beef and of both purposes.
BEEF: dict[str, str] = {
    "angus": "aan an ang aa ran ar 'aberdeen angus' 'red angus' 'black angus'",
    "hereford": "her he heq hh hp 'polled hereford' 'hereford polled' 'hereford horned'",
    "shorthorn": "bsh shb sh 'beef shorthorn' 'shorthorn beef'",
    "charolais": "cha ch char",
    "limousin": "lim li lm limousine",
    "simmental": "sim sm si flv fleckvieh simmenthal 'simmental x fleckvieh' 'simmental polled'",
    "belgian blue": "bbl bb bgb wbm 'british blue' 'blanc bleu belge' bbb",
    "blonde d'aquitaine": "baq blo bd ba blonde 'blonde daquitaine'",
    "brahman": "brm br",
    "south devon": "sde sd sod",
    "aubrac": "aub au",
    "salers": "sal sl",
    "gelbvieh": "gvh gv gel",
    "galloway": "glw ga gal 'belted galloway' gab",
    "highland": "hla hld 'highland cattle' 'scottish highland'",
    "wagyu": "wag wy wa",
    "piedmontese": "pie pi pid piedmont",
    "parthenaise": "par pth parthenais",
    "chianina": "cia ca chi",
    "marchigiana": "mar mr mga",
    "romagnola": "rom rn rga",
    "maine-anjou": "maj rdp 'maine anjou' 'rouge des pres'",
    "welsh black": "wbl wb web",
    "devon": "dev 'red devon' 'north devon' rdn",
    "sussex": "sus ssx",
    "dexter": "dxt dr dex",
    "murray grey": "mgr mg mug",
    "santa gertrudis": "sge se san",
    "brangus": "brg bn",
    "braford": "bfd bo",
    "beefmaster": "bma bm",
    "nellore": "nel nelore",
    "luing": "lui",
    "longhorn": "lon 'english longhorn' 'texas longhorn'",
    "lincoln red": "lir lincoln",
    "stabiliser": "sbr stabilizer",
    "speckle park": "sp spk",
    "gasconne": "gas",
    "pinzgauer": "pin pz pinzgau",
    "beef": "'beef cross' beefx 'beef blend' bc",
}
#: Crosses with a name of their own.
CROSSES: dict[str, tuple[str, ...]] = {
    "hfx": ("hereford", "holstein"),
    "kiwicross": ("holstein", "jersey"),
}
#: Said to be a cross, and nothing of what.
MIXED = frozenset({"cross", "crossbred", "crossbreed", "cross bred", "mixed", "mixed breed"})
MIXED |= {"composite", "crb", "mdb", "cpe", "other", "oth", "xx", "x"}

_CROSS = re.compile(r"\s*(?:[\u00d7/+&]|\bx\b|\band\b|\bcross(?:bred|ed)?\b|\bwith\b)\s*")
_NUMBERS = re.compile(r"[0-9]+(?:[.,][0-9]+)?\s*%?")
_STUD_CODE = re.compile(r"0*[0-9]{1,3}([A-Z]{2})0*[0-9]{1,6}")
_INTERNATIONAL = re.compile(r"([A-Z]{3})[A-Z]{3}[MF][0-9A-Z]{6,}")


@cache
def breeds_of(text: str | None) -> tuple[str, ...] | None:
    """The breeds that a cell names, the same one once; () where it says no breed, None: unknown."""
    plain = _plain(text or "")
    if not plain or plain in MIXED:
        return ()
    if plain in CROSSES:
        return CROSSES[plain]
    if (whole := _names().get(plain)) is not None:
        return (whole,)
    words = _NUMBERS.sub(" ", plain).strip()
    for parts in (_CROSS.split(words), words.split(), _joined(words)):
        named = [part for each in parts if (part := each.strip()) and part not in MIXED]
        known = [_names().get(part) for part in named]
        if named and None not in known:
            return tuple(dict.fromkeys(name for name in known if name is not None))
    return None


@cache
def breeds_of_bull(sire: str | None) -> tuple[str, ...] | None:
    """The breed in a bull's code (999AN1234, LIMFRAM001234567890); None where it holds none."""
    code = re.sub(r"[\s-]", "", (sire or "").upper())
    found = _STUD_CODE.fullmatch(code) or _INTERNATIONAL.fullmatch(code)
    return None if found is None else breeds_of(found.group(1)) or None


def is_dairy(breeds: tuple[str, ...]) -> bool:
    """Whether every one of the breeds is of milk."""
    return bool(breeds) and all(breed in DAIRY for breed in breeds)


def _plain(text: str) -> str:
    bare = unicodedata.normalize("NFKD", text.replace("\u2019", "'").replace("`", "'"))
    bare = "".join(c for c in bare if not unicodedata.combining(c)).lower()
    return " ".join(re.sub(r"[._,;()]", " ", bare).split())


def _joined(words: str) -> list[str]:
    """Two codes with an x between or behind them and no space: HOLxJER, AANX."""
    found = re.fullmatch(r"([a-z]{2,3})[x-]([a-z]{2,3})?", words)
    return [part for part in found.groups() if part] if found else []


@cache
def _names() -> dict[str, str]:
    names: dict[str, str] = {}
    for breed, others in (*DAIRY.items(), *BEEF.items()):
        names[breed] = breed
        for quoted, plain in re.findall(r"'([^']+)'|(\S+)", others):
            names.setdefault(quoted or plain, breed)
    return names
