"""Spanish: sentences of the door, by the English pattern."""

from collections.abc import Mapping
from typing import Final

SENTENCES: Final[Mapping[str, str]] = {
    "sign-off": "firma",
    "personal code": "código personal",
    "rights": "permisos",
    "this screen may not": "esta pantalla no puede",
    "sign in as manager": "entrar como encargado",
    "{0} has no personal code": "{0} no tiene código personal",
    "the manager gives them one under Access; until then somebody else signs": (
        "el encargado le da uno en Acceso; hasta entonces firma otra persona"
    ),
    "this needs the personal code of {0}": "hace falta el código personal de {0}",
    "that is not the personal code of {0}": "ese no es el código personal de {0}",
    "type it and send it again; if it is forgotten, the manager gives another under Access": (
        "escribirlo y enviarlo otra vez; si se ha olvidado, el encargado da otro en Acceso"
    ),
    "type it and send it again": "escribirlo y enviarlo otra vez",
    "too many wrong codes for {0}": "demasiados códigos erróneos para {0}",
    "wait {0} s; others can sign meanwhile": "esperar {0} s; mientras tanto pueden firmar otros",
}
