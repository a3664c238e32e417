"""Words of the trade in five languages: which meaning each suggests in a layer's name.

One row per meaning; the earlier row counts where a name holds words of several (``SINK TEXT``
is text). The rows on work also tell a note in a part ("POLISH FRONT") from its name, but for
words that parts are named by. Common practice, no source: names that draughtsmen use.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from edgetime.tooling.layers import Meaning


@dataclass(frozen=True, slots=True)
class TradeWords:
    """Words that suggest one meaning.

    Attributes
    ----------
    what : str
        What they name, for people.
    means : Meaning
        What a layer with such a name means.
    profile : str or None
        Profile of an edge or cutout, where the words say one.
    words : dict
        Language → words and phrases, separated by ``|``. Words with accents also match
        without, and umlauts as two letters.
    """

    what: str
    means: Meaning
    profile: str | None
    words: dict[str, str]


def _row(
    what: str, means: Meaning, profile: str | None, en: str, de: str, fr: str, es: str, it: str
) -> TradeWords:
    return TradeWords(what, means, profile, {"en": en, "de": de, "fr": fr, "es": es, "it": it})


_IGNORE, _CUTOUT, _EDGE = Meaning.IGNORE, Meaning.CUTOUT, Meaning.EDGE

TRADE_WORDS: Final[tuple[TradeWords, ...]] = (
    _row(
        "dimensions", _IGNORE, None,
        "dim|dims|dimension|dimensioning|dimensions|defpoints|measurement",
        "maß|maße|maßlinie|bemaßung|vermaßung|masse|abmessung",
        "cote|cotes|cotation",
        "cota|cotas|acotación|medidas",
        "quota|quote|quotatura|quotature|misure",
    ),
    _row(
        "texts", _IGNORE, None,
        "text|txt|note|label|annotation|anno|remarks",
        "text|beschriftung|schrift|bezeichnung|notiz|bemerkung",
        "texte|annotation|étiquette|remarque",
        "texto|nota|rótulo|etiqueta|anotación",
        "testo|testi|nota|scritta|scritte|etichetta",
    ),
    _row(
        "hatching", _IGNORE, None,
        "hatch|hatching|fill", "schraffur|füllung", "hachure|hachures",
        "sombreado|rayado", "tratteggio|campitura|retino",
    ),
    _row(
        "frame or title block", _IGNORE, None,
        "frame|title|title block|titleblock|border|sheet|viewport|vport|vports|logo|legend",
        "rahmen|blattrahmen|zeichnungsrahmen|schriftfeld|plankopf|legende|blatt",
        "cadre|cartouche|légende", "marco|cajetín|cuadro|leyenda",
        "cornice|cartiglio|squadratura|testalino|legenda",
    ),
    _row(
        "construction lines", _IGNORE, None,
        "construction|constr|aux|auxiliary|guide|axis|axes|centre|center|centre line|center line"
        "|hidden|grid|scratch|help",
        "hilfslinie|hilfskonstruktion|konstruktion|konstr|achse|mittellinie|verdeckt|raster|hilfs",
        "construction|axe|axes|auxiliaire|caché|repère",
        "construcción|eje|ejes|auxiliar|oculta|guía",
        "costruzione|asse|assi|ausiliaria|ausiliarie|nascosta|mezzeria",
    ),
    _row(
        "slab", _IGNORE, None,
        "slab|remnant|stock", "rohplatte|rohtafel|tafel|reststück", "tranche|panneau brut",
        "tabla|losa", "lastra|lastre",
    ),
    _row(
        "furniture", _IGNORE, None,
        "cabinet|furniture|carcass|casework|case|cupboard|base unit",
        "schrank|unterschrank|korpus|möbel", "meuble|caisson",
        "mueble|armario", "mobile|mobili|arredo",
    ),
    _row(
        "grooves and rebates", Meaning.RECESS, None,
        "drainer|drainer groove|groove|rebate|recess|drip",
        "abtropfrille|abtropffläche|abtropf|rille|falz|nut|wassernase|vertiefung",
        "rainure|égouttoir|feuillure|larmier|goutte d eau",
        "ranura|escurridor|rebaje|goterón|vierteaguas",
        "scanalatura|scanalature|gocciolatoio|ribasso|battuta|rompigoccia",
    ),
    _row(
        "tap holes", Meaning.HOLE, None,
        "hole|tap|tap hole|faucet|drill|drilling|bore|core|dispenser",
        "bohrung|bohrloch|loch|hahnloch|armatur|armaturenloch|wasserhahn|hahn",
        "trou|trous|perçage|robinet|robinetterie|mitigeur",
        "agujero|taladro|grifo|grifería|orificio",
        "foro|fori|foratura|rubinetto|rubinetteria|miscelatore",
    ),
    _row(
        "seam", Meaning.SEAM, None,
        "seam|joint|join", "fuge|naht|stoß|stoßfuge", "joint|raccord|jonction",
        "junta|unión|junta de unión", "giunto|giunta|giunzione|unione",
    ),
    _row(
        "wall or sawn edge", Meaning.UNFINISHED, None,
        "wall|wall side|unfinished|unpolished|not polished|raw edge|raw|sawn|back|back edge|rear",
        "wand|wandseite|wandkante|wandanschluss|wandabschluss|roh|rohkante|sägerau|gesägt|unbearbeitet|unpoliert|hinten"
        "|hinterkante|rückseite",
        "mur|côté mur|chant brut|brut|non poli|scié|arrière|dos",
        "pared|muro|lado pared|canto bruto|bruto|sin pulir|aserrado|trasero|trasera",
        "muro|parete|lato muro|lato parete|grezzo|grezza|costa grezza|bordo grezzo|segato|retro"
        "|non lucidato",
    ),
    _row(
        "opening with a rim over it", _CUTOUT, "unfinished",
        "top mount|top mounted|overmount|drop in|inset",
        "aufliegend|auflage|auflagespüle", "pose dessus|à encastrer|encastrable",
        "sobre encimera|de encastrar", "sopratop|sopra top|incasso",
    ),
    _row(
        "hob", _CUTOUT, "unfinished",
        "hob|cooktop|cook top|stove|cooker|cook|range", "kochfeld|herd|herdplatte|ceran",
        "plaque de cuisson|table de cuisson|plaque|cuisson",
        "placa de cocción|vitrocerámica|vitro|inducción|cocción|placa",
        "piano cottura|cottura|fornello|fornelli",
    ),
    _row(
        "sink, undermount", _CUTOUT, "flat-polish",
        "sink|basin|bowl|butler|belfast|apron|farmhouse",
        "spüle|spülbecken|becken|waschbecken|unterbaubecken|spül",
        "évier|lavabo|vasque|cuve",
        "fregadero|lavabo|seno|pila",
        "lavello|lavabo|vasca|acquaio",
    ),
    _row(
        "undermount", _CUTOUT, "flat-polish",
        "undermount", "unterbau", "sous plan", "bajo encimera", "sottotop|sotto top",
    ),
    _row(
        "opening", _CUTOUT, None,
        "cutout|cut out|opening|aperture|inner|inside|internal|interior|socket|outlet|notch|pocket",
        "ausschnitt|öffnung|innen|innenkontur|aussparung|durchbruch|steckdose",
        "découpe|découpage|ouverture|intérieur|réservation|prise",
        "recorte|hueco|abertura|interior|calado|enchufe",
        "ritaglio|apertura|interno|scasso|traforo|presa",
    ),
    _row(
        "cups under the slab", Meaning.CUP, None,
        "cup|vacuum cup|suction cup|suction|vacuum|vacuum pod|pod",
        "sauger|vakuumsauger|saugnapf|saugnäpfe|saugteller|vakuum",
        "ventouse", "ventosa|vacío", "ventosa|ventose|vuoto",
    ),
    _row(
        "clamps and stops", Meaning.KEEP_OUT, None,
        "clamp|clamping|stop|stopper|fence|fixture|fixturing|workholding|keep out|no go|obstacle",
        "spanner|spannmittel|spannpratze|pratze|klemme|zwinge|anschlag|anschläge|sperrzone"
        "|sperrfläche|störkontur",
        "bride|bridage|pince|serre joint|butée|zone interdite|obstacle",
        "mordaza|sargento|brida|amarre|zona prohibida|obstáculo",
        "morsetto|morsetti|morsa|morse|staffa|staffe|bloccaggio|riscontro|riscontri"
        "|zona vietata|ostacolo",
    ),
    _row(
        "half bullnose", _EDGE, "half-bullnose",
        "half bullnose|half bull nose|half round", "halbrund|viertelrund|halbstab",
        "demi rond|quart de rond", "medio canto redondo|cuarto de caña",
        "mezzo toro|quarto di toro",
    ),
    _row(
        "full bullnose", _EDGE, "full-bullnose",
        "bullnose|bull nose|full bullnose|full round", "vollrund|rundstab|rundkante",
        "plein rond|bec rond|boudin", "canto redondo|bocel", "toro|torello|mezzo tondo",
    ),
    _row(
        "ogee", _EDGE, "ogee",
        "ogee", "karnies", "doucine|bec de corbin", "pecho paloma|pecho de paloma",
        "becco di civetta|gola",
    ),
    _row(
        "cove", _EDGE, "cove",
        "cove|cavetto", "hohlkehle", "cavet|gorge", "media caña|caveto", "sguscia|guscia",
    ),
    _row(
        "mitre", _EDGE, "mitre",
        "mitre|mitred|miter|mitered", "gehrung|gehrungskante", "onglet|coupe d onglet",
        "inglete|ingletado", "quartabuono|jolly",
    ),
    _row(
        "waterfall edge", _EDGE, "waterfall-radius",
        "waterfall", "wasserfall", "cascade", "cascada", "cascata",
    ),
    _row(
        "laminated edge", _EDGE, "laminated-40",
        "laminated|built up", "aufgedoppelt|aufdopplung", "surépaisseur", "engrosado|regrueso",
        "bordo rialzato|raddoppio",
    ),
    _row(
        "bevelled edge", _EDGE, "bevel",
        "bevel|bevelled|beveled|chamfer|chamfered", "fase|gefast|schräge",
        "biseau|biseauté|chanfrein|chanfreiné", "bisel|biselado|chaflán",
        "bisello|bisellato|smusso|smussato",
    ),
    _row(
        "eased edge", _EDGE, "eased",
        "eased|ease|arris|arrised|pencil", "gebrochen|kante gebrochen|kantenbruch",
        "arête cassée|cassé|adouci|arête abattue", "canto matado|matado|arista matada",
        "spigolo smussato|filo rotto|bisellino",
    ),
    _row(
        "polished edge", _EDGE, "flat-polish",
        "polish|polished|flat polish|flat polished|pol|exposed|visible",
        "poliert|politur|sichtkante|sichtseite|sicht|polier",
        "poli|polie|polissage|chant poli|chant vu|côté vu|visible",
        "pulido|pulida|canto pulido|visto|canto visto|lado visto",
        "lucido|lucida|lucidato|lucidata|costa lucida|costa vista|lato vista|vista",
    ),
    _row(
        "edge", _EDGE, None,
        "edge|front|front edge", "kante|front|vorne|vorderkante|vorderseite",
        "chant|bord|façade|devant|avant", "canto|frente|borde|frontal",
        "costa|bordo|bordi|fronte|frontale",
    ),
    _row(
        "outline", Meaning.OUTLINE, None,
        "outline|contour|perimeter|outer|outside|external|exterior|out|part|piece|top|worktop"
        "|countertop|counter|cntr|ctop|benchtop|bench|vanity|island|boundary",
        "kontur|außenkontur|umriss|außen|platte|arbeitsplatte|werkstück|teil|bauteil|umfang"
        "|abdeckung|waschtisch",
        "contour|extérieur|plan de travail|pièce|plan|pourtour|périmètre|plan vasque",
        "contorno|exterior|encimera|pieza|perímetro|silueta",
        "contorno|contorni|esterno|esterna|perimetro|piano|pezzo|pezzi|sagoma|profilo esterno"
        "|piano di lavoro",
    ),
)  # fmt: skip
"""The words, the earlier row first."""

FILLERS: Final[frozenset[str]] = frozenset(
    [
        "line",
        "lines",
        "linie",
        "linien",
        "ligne",
        "lignes",
        "linea",
        "lineas",
        "linee",
        "side",
        "seite",
        "seiten",
        "cote",
        "lado",
        "lato",
        "layer",
        "ebene",
        "calque",
        "capa",
        "livello",
        "curve",
        "curves",
        "cnc",
        "cam",
        "geo",
        "geometry",
        "2d",
        "new",
        "neu",
    ]
)
"""Words that say nothing of a layer's meaning, but are parts of compound names."""

PART_WORDS: Final[dict[str, str]] = {
    "en": "front|back|rear|wall|inner|inside|internal|interior|out|waterfall|socket|outlet|dispenser"
    "|core|pencil|ease|nut",
    "de": "vorne|hinten|wand|innen|vorderseite|rückseite|wasserfall|steckdose|hahn|nut",
    "fr": "avant|devant|façade|arrière|dos|mur|intérieur|cascade|prise|gorge|boudin",
    "es": "frente|frontal|trasero|trasera|pared|muro|lado visto|cascada|enchufe",
    "it": "fronte|frontale|retro|parete|muro|interno|lato vista|vista|cascata|presa|toro|gola|jolly"
    "|traforo",
}
"""Words of the rows on work that parts are named by, too: where a part lies (BAR FRONT, BACK BAR),
what it belongs to (WATERFALL LEG), or another thing of the same spelling. They make no note."""

NOTE_WORDS: Final[dict[str, str]] = {
    "en": "radius|finish|thick|tolerance|mitering|cut|glue|template|check|see|scale|date|rev|qty|pcs"
    "|granite|quartz|quartzite|marble|limestone|travertine|slate|porcelain|ceramic",
    "de": "bohren|stärke|dicke|maßstab|granit|quarz|quarzit|marmor|keramik",
    "fr": "épaisseur|marbre",
    "es": "espesor|corte|granito|mármol|cuarzo",
    "it": "spessore|taglio|marmo|quarzite",
}
"""Words of notes that suggest no meaning: measures, remarks, stones."""
