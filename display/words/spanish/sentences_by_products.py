"""Spanish: sentences of by-products and of deliveries that are overdue, by the English pattern."""

from collections.abc import Mapping
from typing import Final

SENTENCES: Final[Mapping[str, str]] = {
    "left by {0}, which is {1}: {2}": "sobró de {0}, que está {1}: {2}",
    "{0} left by {1}: {2} {3}": "{0} que sobró de {1}: {2} {3}",
    "who weighed": "para haberlo pesado",
    "the code of something that a step has left": "el código de algo que sobró de un paso",
    "it is kept in {0}": "se lleva en {0}",
    "{0} {1} of it has been used": "ya se usaron {0} {1}",
    "at least that, or count what is there now": "al menos eso, o contar lo que hay ahora",
    "it leaves no {0}": "de este paso no sobra {0}",
    "leave it out": "dejarlo en blanco",
    "no such by-product": "no existe ese sobrante",
    "to measure it": "para medirlo",
    "no such lot on hand": "no hay ese lote en existencias",
    "the code of a delivery, or of a left-over; in a batch, measure at its step": (
        "el código de una entrega o de un sobrante; en un lote en marcha se mide en su paso"
    ),
    "{0} gave {1} {2}, {3} were planned": "{0} dio {1} {2}, estaban previstos {3}",
    "{0} is not received yet": "{0}: aún sin recibir",
    "receive it, or look and say that it is here": "recibirlo, o mirar y decir que está aquí",
    "{0} should be here by now; nobody has received it": "{0} ya debería estar aquí; nadie lo ha recibido",
    "{0} that it left ({1}) was used since": "{0} que sobró ({1}) se ha usado desde entonces",
    "none is there": "no hay nada",
    ", and what steps leave is not enough in time": ", y lo que sobra de otros pasos no basta a tiempo",
    "{0} is here": "{0} está aquí",
    "left over": "sobrante",
    "{0}, which no step leaves in time": "{0}, que no sobra de ningún paso a tiempo",
    "too little {0} is left over by other recipes": "sobra demasiado poco {0} de otras recetas",
}
