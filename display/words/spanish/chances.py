"""Spanish: words of chances."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "chance_certain": "casi seguro",
    "chance_very_likely": "muy probable, 19 de 20",
    "chance_likely": "probable, {count} de 10",
    "chance_even": "a medias, {count} de 10",
    "chance_unlikely": "poco probable, {count} de 10",
    "chance_hardly": "muy difícil, menos de 1 de 10",
    "outlook_chance": "{outlook} · {chance}",
    "outlook_unlikely": "En riesgo · {chance}",
    "chance_share": "A tiempo en {share} de {runs} simulaciones (intervalo del 95 %, de {low} a {high}).",
    "chance_back_assumed": "Cuenta con que {machine} vuelva {time}; nadie lo ha dicho.",
    "chance_back_said": "Cuenta con que {machine} vuelva {time}, como se dijo.",
    "chance_hangs_on": "Depende de:",
    "chance_cause": "{title} ({task}): {chance} si tarda sus minutos habituales o menos",
    "chance_assumes_head": "Qué supone una probabilidad",
    "chance_assumes": (
        "Los pasos tardan entre sus minutos más cortos y más largos, casi siempre cerca de los habituales, cada "
        "uno por su cuenta. Nada empieza antes de su hora salvo que vaya a cerrar una ventana, y nadie "
        "replanifica. Hace el trabajo quien sepa, esté libre y de turno. Queda fuera: máquinas que se averían, "
        "personas que no vienen, alimento que falla y lo llenas que están las cámaras. Una probabilidad es una "
        "estimación, no una promesa."
    ),
    "shaky_head": "Ventanas en peligro si los pasos se alargan",
    "shaky_line": "{title} ({task}): ventana cumplida: {chance}",
    "proposal_chances": "A tiempo, con el plan actual y con este:",
    "proposal_chance": "{customer}: {present} → {proposed}",
    "proposal_chance_alone": "{customer}: {proposed}",
    "percent": "{value} %",
}
