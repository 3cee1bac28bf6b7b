"""The words that growers head their columns with, by what they mean.

They are English, German, French, Spanish, Italian, Portuguese and Dutch. A meaning is a set of words; a role, what a
column is, is a set of meanings.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

# Words of one meaning, folded: without case, accents and signs. Compounds (Frischgewicht, freshwt) are taken apart.
MEANINGS: Final[Mapping[str, str]] = {
    "fresh": (
        "fresh frsh wet frisch nass frais fraiche fraiches fresco fresca frescos frescas humedo humeda umido "
        "umida umidos umidas vers verse natte humide"
    ),
    "dry": (
        "dry dried drymatter ovendry trocken trockene getrocknet sec seche seches seco seca secos secas secco "
        "secca essiccato droog droge gedroogd"
    ),
    "weight": (
        "weight weights wt wgt mass biomass bomass masses gewicht gewichte masse biomasse poids peso pesos pesi masa "
        "biomasa massa biomassa materia matiere gramos grams gramm grammes gewichten weighed weigh"
    ),
    "yield": (
        "yield yields ertrag ernte rendement rdt rendimiento cosecha produccion produttivita resa raccolto "
        "rendimento producao colheita opbrengst oogst production prod"
    ),
    "root": (
        "root roots wurzel wurzeln racine racines raiz raices radice radici raizes wortel wortels below belowground"
    ),
    "shoot": (
        "shoot shoots above aboveground aerial spross sprosse aerienne aerien aerea aereo aereas parteaerea "
        "scheut scheuten spruit top tops head heads kopf plant plants pflanze pflanzen plante plantes planta "
        "plantas pianta piante planten"
    ),
    "leaf": (
        "leaf leaves lvs blatt blaetter blatter feuille feuilles hoja hojas foglia foglie folha folhas blad "
        "bladeren bladen lf"
    ),
    "stem": ("stem stems stengel tige tiges tallo tallos stelo fusto caule caules haulm straw stalk stro stroh"),
    "fruit": (
        "fruit fruits frucht fruchte fruechte fruto frutos frutto frutti vrucht vruchten truss trusses grain "
        "grains bean beans tomato tomatoes tuber tubers knolle bulb bulbs flower flowers flor flores fleur fleurs "
        "fiore fiori bloem ear ears spike spikes panicle seed seeds pod pods semilla semillas kernel"
    ),
    "area basis": ("ha hectare hectar hectarea ettaro kgha tha m2 sqm plot parcelle parcela parcella"),
    "number": (
        "number no num nr n count counts anzahl zahl nombre nb nbre numero cantidad conteo quantita conta aantal "
        "nummer numer quantidade qty cnt"
    ),
    "height": ("height heights ht hohe hoehe hauteur altura alto altezza hoogte tall tallness plantheight"),
    "length": ("length lange laenge longueur longitud largo lunghezza comprimento lengte long"),
    "width": ("width diameter breite durchmesser largeur diametre ancho diametro larghezza largura breedte"),
    "area": ("area flache flaeche surface superficie oppervlakte"),
    "tray": (
        "tray trays tub tubs bac bacs plateau plateaux bandeja bandejas cubeta vassoio vassoi bandeira tabuleiro "
        "tabuleiros schale schalen wanne wannen kiste tablett bak bakken plaat shelf shelves regal etagere etage "
        "estante ripiano prateleira schap rack racks channel gully gutter rinne goot canal canale calha bucket "
        "buckets eimer seau cubo balde emmer raft floss radeau balsa zattera vlot tank tanks reservoir becken "
        "reservoirs bed beds beet lit cama letto canteiro bin tote flat flats tower turm tour torre toren trayno "
        "trayid plate vaschetta vaschette cajon cajones caja cajas kasten kisten kist caisse caisses caissette "
        "caissettes barquette barquettes cassetta cassette cassone caixa caixas plot plots parzelle parzellen parcelle "
        "parcelles parcela parcelas parcella perceel percelen"
    ),
    "pot": (
        "pot pots topf toepfe topfe maceta macetas tiesto vaso vasi vasos potten container containers conteneur "
        "contenitore gefass gefaess cup cups plug bag bags sack beutel sac sacs saco sacos bolsa bolsas sacco sacchi "
        "zak zakken"
    ),
    "tent": (
        "tent tents zelt zelte tente tentes carpa carpas tenda tende tendas kweektent room rooms raum kammer "
        "kammern chambre chambres salle habitacion sala camara stanza camera kamer cel chamber chambers cabinet "
        "growroom box boxes zone zona side greenhouse gewachshaus serre invernadero serra estufa kas hoophouse"
    ),
    "block": (
        "block blocks blk bloc blocs bloque bloques blocco blocchi bloco blocos blok blokken wiederholung "
        "wiederholungen wdh whg replicate replicates rep reps repetition repetitions repl replication replica "
        "replicas replicacion repeticion repeticiones ripetizione ripetizioni repeticao repeticoes herhaling "
        "herhalingen bench benches tisch tafel mesa banco row rij reihe rangee fila fileira riga rang round runde "
        "ronda"
    ),
    "position": (
        "position positions pos place platz stelle emplacement posicion ubicacion posizione posto posicao plaats "
        "plek site spot hole slot loch trou hueco foro buraco gat location standort lieu"
    ),
    "plant": (
        "plant plants plantid pflanze pflanzen plante plantes planta plantas pianta piante planten plnt plt pl "
        "seedling seedlings samling keimling plantule plantula piantina muda kiemplant head kopf krop pflnr "
        "pflanzennr"
    ),
    "sample": (
        "sample samples probe proben echantillon muestra campione amostra monster specimen individual individuo "
        "individuum tree medida"
    ),
    "id": (
        "id ids code codes label labels kennung kurzel identifiant codigo etiqueta codice etichetta rotulo etiket "
        "kenmerk name barcode lfdnr lfd laufende sr serial subid ref"
    ),
    "treatment": (
        "treatment treatments treatm treat trt trts trat tratam ttt tx txs trmt behandlung behandlungen variante "
        "varianten variant variants traitement traitements trait traite tratamiento tratamientos trattamento "
        "trattamenti tesi tratamento tratamentos behandeling behandelingen group groups gruppe gruppen groupe "
        "grupo gruppo groep condition conditions bedingung condicion condizione condicao conditie factor faktor "
        "facteur fattore fator modalite modality tesis arm proefgroep setup regime verfahren prufglied pruefglied"
    ),
    "factor": (
        "water watering irrigation irrigated riego arrosage irrigazione rega irrigacao bewasserung beregening "
        "light luz licht lumiere luce lamp lampe spectrum spektrum spectre soil medium media substrate substrat "
        "substrato sustrato substraat boden erde sol suelo suolo solo grond fertilizer fertiliser dunger duenger "
        "engrais abono fertilizante concime adubo mest meststof nutrient nutrients recipe rezept recette receta "
        "inoculum inoc strain fungi hongos microbe warm warme heat heated cold salt salinity additive zusatz dose "
        "dosis rate density spacing luces"
    ),
    "cultivar": (
        "cultivar cultivars cv cult variety varieties sorte sorten variete varietes variedad variedades varieta "
        "variedade ras rassen genotype species specie especie art espece soort line lineage strain crop kultur "
        "culture cultivo coltura cultura gewas"
    ),
    "status": (
        "status state condition zustand etat statut estado stato toestand survival survived alive dead lebt "
        "vivant vivo mortality mortalite mortalidad mortalita mortalidade overleving fate outcome"
    ),
    "note": (
        "note notes comment comments remark remarks observation observations bemerkung bemerkungen notiz notizen "
        "anmerkung kommentar remarque remarques commentaire commentaires nota notas comentario comentarios "
        "observacion observaciones obs osservazione osservazioni observacao observacoes opmerking opmerkingen "
        "notitie notities"
    ),
    "date": (
        "date dates datum tag fecha fechas data dato dia giorno jour datetime timestamp timestamps day when "
        "zeitstempel horodatage zeitpunkt moment tijdstip quando"
    ),
    "time": ("time zeit uhrzeit heure hora ora tijd uhr clock hour stunde uur"),
    "week": ("week weeks wk wks woche kw semaine sem semana semanas settimana settimane weken"),
    "harvest": (
        "harvest harvested harvesting ernte geerntet recolte cosecha raccolta raccolto colheita oogst geoogst cut "
        "cutting schnitt"
    ),
    "sowing": (
        "sow sown sowing seeded aussaat gesat semis siembra semina sementeira semeadura zaai gezaaid germ "
        "germination seeding planted gepflanzt plantation transplant transplanted"
    ),
    "event": (
        "event events action actions ereignis vorgang massnahme aktion evenement evento accion azione acao actie "
        "operation operacion operazione handeling gebeurtenis activity task type tipo typ art soort what was"
    ),
    "volume": (
        "volume volumes vol volumen volumi liter liters litre litres litros litri ltr menge quantite cantidad "
        "quantita quantidade hoeveelheid amount ml flow"
    ),
    "solution": (
        "solution nutrientsolution losung loesung nahrlosung naehrloesung solucion soluzione solucao oplossing "
        "voedingsoplossing water wasser eau agua acqua reservoir tank feed misting irr irrigation bewasserung "
        "riego"
    ),
    "fill": (
        "fill filled filling fuellung fullung gefullt rempli remplissage llenado llenar riempimento enchimento "
        "gevuld added add zugabe ajout anadido anadida aggiunta adicionado toegevoegd"
    ),
    "top-up": (
        "topup toppedup refill refilled nachgefullt nachfullung appoint recarga relleno rabbocco reposicao "
        "bijgevuld bijvullen"
    ),
    "drain": (
        "drain drained drainage runoff outflow abfluss ablauf vidange drenaje drenado drenaggio scarico drenagem "
        "afvoer leeg"
    ),
    "remaining": ("remaining remainder left rest ubrig reste restante rimanente residuo resterend over"),
    "EC": (
        "ec conductivity electricalconductivity leitfahigkeit leitfaehigkeit lf lfwert conductivite conductividad "
        "conducibilita conduttivita condutividade geleidbaarheid ce egv cond cf"
    ),
    "pH": ("ph phwert phvalue acidity"),
    "temperature": (
        "temperature temp temps temperatur temperaturen temperatura temperaturas temperatuur tmp lufttemperatur "
        "kastemp tair tluft degc degf"
    ),
    "air": ("air luft aire aria ar lucht ambient room raum inside indoor kas canopy"),
    "humidity": (
        "humidity humid rh feuchte feuchtigkeit luftfeuchte luftfeuchtigkeit rlf rf humidite hr humedad umidita "
        "ur umidade luchtvochtigheid vochtigheid vocht rv relhum relativehumidity"
    ),
    "relative": ("relative relativ relativa rel relatif relatieve rh"),
    "CO2": (
        "co2 carbondioxide kohlendioxid dioxydedecarbone dioxidodecarbono anidridecarbonica koolstofdioxide kooldioxide"
    ),
    "PPFD": ("ppfd ppf par photonflux pfd quantumflux lightintensity"),
    "DLI": ("dli dailylightintegral"),
    "radiation": ("radiation rad lux lumen strahlung straling rayonnement radiacion radiazione globalrad"),
    "x": ("x xcm"),
    "y": ("y ycm"),
    "meter": ("meter meters zahler zaehler compteur contador medidor contatore teller plug socket submeter"),
    "reading": (
        "reading readings stand zahlerstand zaehlerstand meterstand ablesung releve index lectura lettura leitura "
        "kwhstand counter cumulative kumuliert cumul acumulado cumulato cumulativo"
    ),
    "energy": (
        "kwh wh energy electricity power strom energie verbrauch consumption consommation electricite energia "
        "consumo electricidad elettricita eletricidade elektriciteit verbruik stroom usage used"
    ),
    "per interval": (
        "daily taglich tag pertag perday journalier diario giornaliero dagelijks since seit depuis interval "
        "intervall consumption verbrauch consommation consumo verbruik usage used"
    ),
    "start": ("start started initial begin anfang debut inicial inizio initiale iniziale inicio"),
    "power": ("power leistung puissance potencia potenza vermogen watt watts w"),
    "total": ("total totals totaux gesamt summe totale totaal sum"),
    "average": (
        "average avg ave mean mittel mittelwert durchschnitt moyenne moy media promedio prom gemiddeld gemiddelde "
        "med gem"
    ),
    "ratio": (
        "ratio percent percentage pct prozent anteil pourcentage porcentaje percentuale porcentagem index perc rel"
    ),
    "error": ("sd se sem stdev std error ci cv variance stderr"),
    "container": ("with incl including mit avec con com met plus and und et y e en inkl brutto gross lordo bruto brut"),
    "net": "net netto neto neta nette netta liquido",
    "gross": "gross brutto lordo bruto brut",
    "tare": ("tare tara tarra empty leer vide vacio vuoto vazio"),
    "outside": (
        "outside outdoor outdoors exterior external aussen draussen dehors exterieur exterieure ext esterno esterna "
        "externo externa fuera afuera fora buiten"
    ),
    "setpoint": (
        "setpoint setpoints set target soll sollwert consigne consigna ziel zielwert objetivo obiettivo instelling "
        "streefwaarde"
    ),
    "extreme": (
        "min max minimum maximum minimo minima maximo maxima massimo massima mini maxi tmin tmax lowest highest "
        "laagste hoogste tiefstwert hochstwert"
    ),
    "dew": "dew dewpoint taupunkt tau rosee rugiada rocio orvalho dauw dauwpunt",
    "soil": (
        "soil substrate slab medium boden erde substrat substrato sustrato suelo suolo solo sol grond bodem substraat"
    ),
    "density": ("density densite dichte densidad densita densidade dichtheid pflanzdichte"),
}


NOT_OF_THE_AIR: Final = ("solution", "root", "leaf", "soil", "outside", "setpoint", "extreme", "dew")
_VAGUE: Final = (
    "group groups gruppe gruppen groupe groupes grupo grupos gruppo gruppi groep groepen condition conditions "
    "bedingung bedingungen condicion condizione condicao conditie setup"
)
VAGUE: Final = frozenset(_VAGUE.split())  # that head treatments, and whatever else plants are told apart by
_REPEATS: Final = (
    "wiederholung wiederholungen wdh whg replicate replicates rep reps repetition repetitions repl replication replica "
    "replicas replicacion repeticion repeticiones ripetizione ripetizioni repeticao repeticoes herhaling herhalingen"
)
REPEATS: Final = frozenset(_REPEATS.split())  # that number blocks, or no more than the pots of each treatment
_BLOCKS: Final = "block blocks bloc blocs bloque bloques blocco blocchi bloco blocos blok blokken rcbd"
BLOCKS: Final = frozenset(_BLOCKS.split())


@dataclass(frozen=True)
class Role:
    """What a column may be: the column `name` of the sheet `sheet`, headed by a word of each of `needs`.

    A word of `never` speaks against it. `units` are those that such a column is measured in; `worth` is how far the
    words alone carry, 1 where they leave no doubt.
    """

    sheet: str
    name: str
    needs: tuple[str, ...]
    never: tuple[str, ...] = ()
    worth: float = 1.0


_PART: Final = ("leaf", "stem", "fruit")
_NOT_HARVESTED: Final = ("start", "gross")  # of the seedling, of the plant with its pot
_OTHER_PLACE: Final = ("plant", "sample", "weight", "number", "height", "length", "temperature", "humidity", "ratio")

# Roles by the sheet of the declaration; "Any" stands for several sheets. "Weight" is a mass that is not said to be
# fresh or dry, "Gross weight" one with its pot, "Further" a measurement of plants that the declaration does not name.
ROLES: Final = (
    Role("Plants", "Fresh weight", ("fresh", "weight"), ("dry", "root", *_PART, "ratio", "error", *_NOT_HARVESTED)),
    Role("Plants", "Dry weight", ("dry", "weight"), ("fresh", "root", *_PART, "ratio", "error", *_NOT_HARVESTED)),
    Role("Plants", "Dry weight", ("dry", "shoot"), ("fresh", "root", *_PART, "ratio", "error", *_NOT_HARVESTED), 0.8),
    Role("Plants", "Fresh weight", ("fresh", "shoot"), ("dry", "root", *_PART, "ratio", "error", *_NOT_HARVESTED), 0.8),
    Role("Plants", "Root weight", ("root", "weight"), ("dry", "ratio", "error"), 0.95),
    Role(
        "Plants",
        "Weight",
        ("weight",),
        ("fresh", "dry", "root", *_PART, "ratio", "error", "area basis", *_NOT_HARVESTED),
        0.8,
    ),
    Role("Plants", "Weight", ("yield",), ("ratio", "error", "area basis", "date", "gross"), 0.6),
    Role("Plants", "Weight", ("shoot", "weight"), ("fresh", "dry", "root", "ratio", "error", *_NOT_HARVESTED), 0.8),
    Role("Plants", "Gross weight", ("weight", "container", "pot"), ()),
    Role("Plants", "Gross weight", ("weight", "container", "tray"), ()),
    Role("Plants", "Gross weight", ("weight", "tare"), ()),
    Role("Plants", "Gross weight", ("weight", "gross"), ()),
    Role("Plants", "Height", ("height",), ("root", "error", "ratio"), 1.0),
    Role("Plants", "Leaves", ("leaf", "number"), ("length", "width", "area", "weight", "ratio", "error")),
    Role("Plants", "Leaves", ("leaf",), ("length", "width", "area", "weight", "ratio", "error", "fresh", "dry"), 0.6),
    Role("Plants", "Status", ("status",), ("ratio",), 0.9),
    Role("Any", "Plant", ("plant", "number"), ("leaf", "fruit", "weight"), 1.0),
    Role("Any", "Plants started", ("plant", "number"), ("leaf", "fruit", "weight", "density"), 0.9),
    Role("Any", "Plant", ("plant", "id"), ("weight",), 1.0),
    Role("Any", "Plant", ("plant",), ("weight", "height", "length", "date", "fresh", "dry", "density", "volume"), 0.9),
    Role("Any", "Plant", ("sample",), ("weight", "height", "date"), 0.8),
    Role("Any", "Plant", ("id",), ("tray", "pot", "tent", "treatment", "cultivar"), 0.6),
    Role("Any", "Plant", ("number",), ("leaf", "fruit", "weight", "tray", "pot", "date"), 0.5),
    Role("Any", "Tray", ("tray",), _OTHER_PLACE, 1.0),
    Role("Any", "Tray", ("tray", "number"), ("plant", "weight", "height", "length", "temperature", "ratio"), 0.9),
    Role("Any", "Tray", ("pot",), _OTHER_PLACE, 0.9),
    Role("Any", "Tray", ("tent",), (*_OTHER_PLACE, "treatment", "air", "date"), 0.7),
    Role("Any", "Block", ("block",), ("plant", "weight"), 0.95),
    Role("Any", "Position", ("position",), ("weight", "id"), 0.8),
    Role("Any", "Treatment", ("treatment",), ("weight", "date"), 1.0),
    Role("Any", "Treatment", ("factor",), ("weight", "date", "volume", "temperature", "ratio"), 0.5),
    Role("Any", "Cultivar", ("cultivar",), ("weight",), 0.9),
    Role("Any", "Note", ("note",), (), 1.0),
    Role("Any", "Harvested on", ("harvest", "date"), ("weight",), 1.0),
    Role("Any", "Sown on", ("sowing", "date"), ("weight",), 1.0),
    Role("Any", "Sown on", ("sowing",), ("weight", "ratio", "number"), 0.5),
    Role("Any", "Started on", ("start", "date"), ("weight",), 1.0),
    Role("Any", "Date", ("date",), ("harvest", "sowing", "start", "weight", "energy", "volume"), 0.9),
    Role("Any", "Time", ("time",), ("date", "weight"), 0.8),
    Role("Any", "Week", ("week",), ("weight", "height"), 0.8),
    Role("Solution", "Event", ("event",), ("weight", "cultivar"), 0.9),
    Role("Solution", "Volume", ("volume",), ("weight", "error", "root"), 0.9),
    Role("Solution", "Volume", ("solution", "volume"), ("weight",), 1.0),
    Role("Solution", "Volume", ("solution", "fill"), ("weight", "temperature"), 0.9),
    Role("Solution", "Volume", ("solution", "top-up"), ("weight", "temperature"), 0.9),
    Role("Solution", "Volume", ("solution", "remaining"), ("weight", "temperature"), 0.9),
    Role("Solution", "Volume", ("solution",), ("weight", "temperature", "ratio", "plant"), 0.5),
    Role("Solution", "Volume", ("drain",), ("weight", "temperature", "ratio", "EC", "pH"), 0.7),
    Role("Solution", "EC", ("EC",), ("position", "id"), 0.9),
    Role("Solution", "pH", ("pH",), (), 0.95),
    Role("Solution", "Temperature", ("solution", "temperature"), ("air", "humidity"), 1.0),
    Role("Meter", "Meter", ("meter", "id"), ("temperature",), 1.0),
    Role("Meter", "Meter", ("meter",), ("temperature", "reading", "energy"), 0.8),
    Role("Meter", "Reading", ("reading",), ("temperature", "humidity", "date", "time", "weight"), 0.8),
    Role("Meter", "Reading", ("meter", "reading"), ("date",), 1.0),
    Role("Meter", "Reading", ("energy",), ("ratio", "date", "weight", "volume", "solution"), 0.8),
    Role("Climate", "Air temperature", ("air", "temperature"), NOT_OF_THE_AIR, 1.0),
    Role("Climate", "Air temperature", ("temperature",), NOT_OF_THE_AIR, 0.8),
    Role("Climate", "Relative humidity", ("humidity",), ("ratio", *NOT_OF_THE_AIR), 0.95),
    Role("Climate", "Relative humidity", ("humidity", "relative"), NOT_OF_THE_AIR, 1.0),
    Role("Climate", "CO2", ("CO2",), ("outside", "setpoint", "extreme", "soil"), 0.9),
    Role("Light", "PPFD", ("PPFD",), ("DLI", "setpoint", "extreme"), 1.0),
    Role("Light", "X", ("x",), (), 0.8),
    Role("Light", "Y", ("y",), (), 0.8),
    Role("Any", "Further", ("leaf", "length")),
    Role("Any", "Further", ("leaf", "area")),
    Role("Any", "Further", ("root", "length")),
    Role("Any", "Further", ("length",), (), 0.8),
    Role("Any", "Further", ("width",), (), 0.8),
    Role("Any", "Further", ("area",), (), 0.7),
    Role("Any", "Further", ("root", "dry"), (), 0.97),
    Role("Any", "Further", ("leaf", "weight"), (), 0.9),
    Role("Any", "Further", ("stem", "weight"), (), 0.9),
    Role("Any", "Further", ("fruit", "weight"), (), 0.97),
    Role("Any", "Further", ("fruit", "yield"), (), 0.97),
    Role("Any", "Further", ("yield", "area basis"), (), 0.95),
    Role("Any", "Further", ("ratio", "weight"), (), 0.9),
    Role("Any", "Further", ("leaf", "ratio"), (), 0.9),
)

# Short forms that stand for two words at once; each may mean something else, so the values must bear it out.
SHORT: Final[Mapping[str, tuple[str, ...]]] = {
    "fw": ("fresh", "weight"),
    "fm": ("fresh", "weight"),
    "fg": ("fresh", "weight"),
    "mf": ("fresh", "weight"),
    "pf": ("fresh", "weight"),
    "sfw": ("fresh", "weight"),
    "dw": ("dry", "weight"),
    "dm": ("dry", "weight"),
    "tg": ("dry", "weight"),
    "tm": ("dry", "weight"),
    "ms": ("dry", "weight"),
    "ps": ("dry", "weight"),
    "sdw": ("dry", "weight"),
    "rfw": ("root", "fresh", "weight"),
    "rdw": ("root", "dry", "weight"),
    "psa": ("dry", "weight"),
    "mfpa": ("fresh", "weight"),
    "mspa": ("dry", "weight"),
    "rh": ("humidity",),
    "nf": ("leaf", "number"),
}

_TOTALS: Final = (
    "anzahl ave average averages avg count cv desviacion desviacionestandar desviopadrao deviazionestandard "
    "durchschnitt ecarttype gemiddeld gemiddelde gesamt grandtotal max maximum mean means media median mediana "
    "mediane medias min minimum mittel mittelwert moy moyenne n overall prom promedio range sd se sem som soma "
    "somma somme spread stabw standaardafwijking standardabweichung std stddev stdev subtotal sum suma summe "
    "totaal total totale totali totals totaux traymean treatmentmean variance"
)
TOTALS: Final = frozenset(_TOTALS.split())

_PICKINGS: Final = (
    "coupe coupes corte cortes cosecha cosechas colheita colheitas cueillette cueillettes cut cuts cutting cuttings "
    "ernte ernten flush flushes harvest harvests oleada oleadas oogst oogsten pick picking pickings picks pluk "
    "raccolta raccolte recolte recoltes recogida recogidas schnitt schnitte snede sneden tagli taglio vlucht "
    "vluchten volata volate welle wellen"
)
_DAYS: Final = "day days dag dagen dia dias giorni giorno jour jours tag tage"
_MONTHS: Final = (
    "january jan february feb march mar april apr may june jun july jul august aug september sep sept october oct "
    "november nov december dec januar februar marz mrz mai juni juli oktober okt dezember dez enero ene febrero marzo "
    "abril abr mayo junio julio agosto ago septiembre octubre noviembre diciembre dic janvier janv fevrier fevr mars "
    "avril avr juin juillet juil aout septembre octobre novembre decembre gennaio gen febbraio aprile maggio mag "
    "giugno giu luglio lug settembre set ottobre ott novembre dicembre janeiro fevereiro fev marco maio junho julho "
    "setembro outubro out dezembro januari februari maart mrt mei augustus"
)
_ORDINALS: Final = (
    "first second third fourth erste erster zweite zweiter dritte dritter vierte premier premiere deuxieme seconde "
    "troisieme primera segunda tercera primer segundo tercer prima primo seconda secondo terza terzo primeira primeiro "
    "terceira terceiro eerste tweede derde"
)
PICKINGS: Final = frozenset(_PICKINGS.split())  # words for one harvest of several of the same plants
DAYS: Final = frozenset(_DAYS.split())
NUMBERING: Final = frozenset((*_MONTHS.split(), *_ORDINALS.split()))  # that say which of several it is

_PLAIN_WORDS: Final = (
    "a all an and are be been data each every figures given here is kept log logged measured noted numbers of our "
    "plant plants readings recorded s taken the their these this trial unit units value values was weighed were "
    "alle angaben aller daten der des die einheit gegeben gemessen gewogen hier ist jeder jede notiert pflanze "
    "pflanzen sind und von war waren werte wurde wurden zahlen "
    "chaque de donnees du est et etaient ici l la le les mesure mesuree mesurees mesures note notees notes par pesee "
    "pesees plante plantes pese peses releves sont tous tout toutes unite unites valeurs "
    "cada datos del el en es eran esta estan fue fueron las los medida medidas medido medidos pesada pesadas pesado "
    "pesados planta plantas por todas todo todos unidad unidades valores y "
    "ciascuna dati dei delle di e gli i il misurata misurate misurati misurato ogni pesata pesate pesati pesato piante "
    "pianta sono tutte tutti unita valori as dados do dos eram foi foram o os sao unidade unidades "
    "eenheid elke gegevens gemeten het iedere planten van waarden werd werden zijn"
)
PLAIN_WORDS: Final = frozenset(_PLAIN_WORDS.split())  # that tell nothing more of what was measured

MISSING: Final = (
    *("-", "--", "–", "—", ".", "NA", "N/A", "n/a", "na", "NaN", "n.a.", "n.d.", "nd", "k.A.", "s.o.", "n.b."),
    *("missing", "not measured", "nicht gemessen", "x"),
)

_LOST: Final = (
    "abgestorben apodrecido ausfall dead didnotgerminate died dnf dng dood doodgegaan eingegangen failed "
    "failedtogrow gestorben lost marcita marcito mort morta morte morti morto morts muerta muertas muerto "
    "naogerminou nichtgekeimt nietgekiemd nogermination nogermino nongerme nongerminato perdida perdido perdu "
    "perso podrido pourri rotted rotten tot uitgevallen verfault verrot"
)
LOST: Final = frozenset(_LOST.split())

EVENTS: Final[Mapping[str, str]] = {
    "fill": (
        "fill filled initial initialfill start fullung fullen gefullt erstfullung befullung rempli remplissage "
        "llenado inicial riempimento enchimento gevuld vullen vulling"
    ),
    "top-up": (
        "topup topped toppedup refill refilled add added nachgefullt nachfullung nachfullen appoint ajout "
        "anadida recarga relleno rellenado rabbocco aggiunta reposicao bijgevuld bijvullen bijvulling"
    ),
    "sample": (
        "sample sampled sampling probe probenahme echantillon muestra campione amostra monster check reading "
        "measurement messung mesure medicion misura medicao meting"
    ),
    "drain": (
        "drain drained dump dumped drainage ablass abgelassen abgeleitet entleert vidange vide drenado vaciado "
        "scarico svuotato drenagem geleegd afgetapt"
    ),
    "remaining": (
        "remaining remainder left leftover end final rest restmenge ende reste restant restante sobrante "
        "rimanente residuo resterend einde"
    ),
}

_START_OF: Final = (
    "start starting started begin beginning initial first before opening anfang beginn erster erste vorher debut "
    "premier premiere avant inicio inicial primera primero antes inizio iniziale primo prima eerste"
)
START_OF: Final = frozenset(_START_OF.split())
_LAST_OF: Final = (
    "end ending final last after closing ende schluss letzter letzte nachher fin finale dernier derniere apres ultima "
    "ultimo despues fine dopo fim depois eind einde laatste"
)
LAST_OF: Final = frozenset(_LAST_OF.split())

STATUSES: Final[Mapping[str, str]] = {
    "harvested": (
        "harvested ok alive healthy good fine living geerntet lebt gesund gut vivant recolte sain vivo viva sano "
        "cosechada cosechado raccolto vivi levend geoogst gezond colhido alright normal y yes ja si oui sim 1"
    ),
    "dead": ("dead died lost failed x missing tot mort muerto muerta morto morta dood"),
    "removed": ("removed thinned culled discarded sampled entfernt retire eliminado removido rimosso verwijderd"),
}

DEATH: Final = "dead died lost tot gestorben mort morte morts muerta muerto muertas morta morto dood gestorven perdue"
LIFE: Final = (
    "alive living survived survivor lebt lebend uberlebt ueberlebt vivant vivante survecu survit viva vivo vive "
    "sobrevive sobrevivio sopravvissuta sopravvive sobreviveu levend leeft overleefd"
)
YES: Final = "yes y ja j oui o si s sim true 1 x"
NO: Final = "no n nein non nao nee false 0"

FACTS: Final[Mapping[str, str]] = {
    "Title": ("title trial experiment titel versuch essai titre ensayo titulo prova titolo ensaio proef"),
    "Crop": ("crop kultur culture cultivo coltura cultura gewas species pflanzenart"),
    "Cultivar": ("cultivar variety sorte variete variedad varieta variedade ras"),
    "Sown on": (
        "sown sowing sowdate sowingdate aussaat gesat semis siembra fechadesiembra semina semeadura zaaidatum gezaaid"
    ),
    "Started on": ("started start startdate begin beginn versuchsbeginn debut inicio inizio startdatum"),
    "Harvested on": (
        "harvested harvest harvestdate ernte erntedatum recolte cosecha fechadecosecha raccolta raccolto colheita "
        "oogst oogstdatum"
    ),
}

_CONTROLS: Final = (
    "baseline check control controle controllo ctl ctrl kontrolle none normal ohne onbehandeld plain reference "
    "sans sem senza sin standard temoin testemunha testigo testimone unbehandelt untreated usual without zonder"
)
CONTROLS: Final = frozenset(_CONTROLS.split())

# Units as they stand in headers, by what is measured.
_DAYS_AND_WEEKS: Final = "day d tag jour j día dia giorno g dag week wk woche semaine sem semana settimana sett week"
_ENERGY_OF_DAYS: Final = tuple(  # an amount of each day or week, as a list of them holds
    f"kwh{sign}{time}" for time in _DAYS_AND_WEEKS.split() for sign in ("/", " / ", " per ", " pro ", " par ", " por ")
)
UNITS: Final[Mapping[str, tuple[str, ...]]] = {
    "mass": (
        "g",
        "gr",
        "gm",
        "gram",
        "grams",
        "gramm",
        "gramme",
        "grammes",
        "gramos",
        "grammi",
        "gramas",
        "mg",
        "kg",
        "dag",
        "dkg",
        "hg",
        "oz",
        "lb",
        "lbs",
        "ounces",
        "pounds",
        "kilograms",
    ),
    "length": ("cm", "mm", "m", "in", "inch", "inches", "centimeters", "centimetres", "millimeters", "millimetres"),
    "area": ("cm2", "cm²", "mm2", "m2", "m²"),
    "volume": (
        "l",
        "ml",
        "liter",
        "liters",
        "litre",
        "litres",
        "litros",
        "litri",
        "litro",
        "cl",
        "dl",
        "gal",
        "us gal",
        "m3",
    ),
    "conductivity": ("ms/cm", "ds/m", "us/cm", "µs/cm", "ms", "µs", "us", "ms cm-1", "ds m-1", "ppm", "cf"),
    "temperature": ("°c", "c", "degc", "deg c", "°f", "f", "degf", "deg f", "celsius", "fahrenheit", "ºc", "℃"),
    "share": ("%", "pct", "%rh", "% rh", "% r.h.", "% rf", "% hr", "percent"),
    "gas": ("ppm", "µmol/mol", "umol/mol"),
    "energy": ("kwh", "wh", "mj", *_ENERGY_OF_DAYS),
    "power": ("w", "kw"),
    "light": ("µmol/m2/s", "umol/m2/s", "µmol m-2 s-1", "umol m-2 s-1", "µmol/m²/s", "µmol/m²s", "µmol", "umol"),
    "time": ("h", "hrs", "d", "days", "min"),
}

# Units in other spellings than a converter knows, as that of the declaration.
SPELT: Final[Mapping[str, str]] = {
    **dict.fromkeys(("gram", "grams", "gramm", "gramme", "grammes", "gramos", "grammi", "gramas"), "g"),
    "dkg": "dag",
    **dict.fromkeys(_ENERGY_OF_DAYS, "kWh"),
    **dict.fromkeys(("litros", "litri", "litro"), "L"),
    **dict.fromkeys(("ms", "ms cm-1"), "mS/cm"),
    **dict.fromkeys(("µs", "us"), "µS/cm"),
    "ds m-1": "dS/m",
    "degc": "°C",
    "degf": "°F",
    **dict.fromkeys(("pct", "percent", "%rh", "% rh", "% r.h.", "% rf", "% hr"), "%"),
    **dict.fromkeys(("µmol/m²s", "µmol", "umol"), "µmol/m2/s"),
}

# What each declared column is measured in.
DIMENSIONS: Final[Mapping[str, str]] = {
    "Fresh weight": "mass",
    "Dry weight": "mass",
    "Root weight": "mass",
    "Weight": "mass",
    "Gross weight": "mass",
    "Height": "length",
    "Volume": "volume",
    "EC": "conductivity",
    "Temperature": "temperature",
    "Air temperature": "temperature",
    "Relative humidity": "share",
    "CO2": "gas",
    "Reading": "energy",
    "PPFD": "light",
}
