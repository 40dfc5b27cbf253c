package tabular

import (
	"strings"
	"unicode"
)

// Dimension is what the cells of a column are.
type Dimension int

const (
	Words Dimension = iota
	Number
	Voltage
	Current
	Power
	Irradiance
	Temperature
	Angle
	Ratio
	Energy
	Charge
	Span    // a length of time
	Instant // date and time
	Day     // a date alone
	Clock   // a time of day alone
)

// Field is something a column can hold.
type Field struct {
	Name      string // as in a mapping
	Dimension Dimension
	Heads     string // header words that mean it, apart by "|", longest match wins; plain lower case
}

var known = []Field{
	{"time", Instant, "time|timestamp|date time|datetime|date and time|zeit|zeitstempel|datum zeit|datum und zeit|datum uhrzeit|heure|horodatage|date heure|date et heure|hora|fecha hora|fecha y hora|data ora|data e ora|data hora|ora|tijd|tijdstip|datum tijd|epoch|epoch s|unix time|time utc|time local|when|uhrzeit"},
	{"date", Day, "date|datum|fecha|data|jour|day|tag|dia|giorno|dag"},
	{"module", Words, "module|modul|panel|module id|serial|serial number|seriennummer|serie|numero de serie|numero di serie|panneau|modulo|pannello|painel|paneel|zonnepaneel|id|which|device|pruefling|name"},
	{"kind", Words, "kind|test|art|versuch|essai|prueba|ensayo|prova|proef|soort"},
	{"position", Words, "position|spot|place on table|stelle|platz|emplacement|posicion|posizione|posicao|positie|plek"},
	{"voc", Voltage, "voc|uoc|vco|open circuit|open circuit voltage|open voltage|open volts|volts open|leerlaufspannung|leerlauf|tension a vide|tension circuit ouvert|tension en circuit ouvert|tension de circuito abierto|voltaje circuito abierto|circuito abierto|tensione a vuoto|tensao em vazio|tensao circuito aberto|nullastspanning|open klemspanning|v open"},
	{"isc", Current, "isc|ik|icc|short circuit|short circuit current|short current|amps short|kurzschlussstrom|kurzschluss|courant de court circuit|court circuit|corriente de cortocircuito|cortocircuito|corrente di corto circuito|corrente di cortocircuito|corto circuito|corrente de curto circuito|curto circuito|kortsluitstroom|i short"},
	{"voltage", Voltage, "voltage|volts|volt|u|v|vmp|vmpp|ump|umpp|operating voltage|working voltage|panel voltage|pv voltage|pv volts|vpv|solar voltage|spannung|arbeitsspannung|modulspannung|tension|tension de service|voltaje|tension de trabajo|tensione|tensione di lavoro|tensao|tensao de trabalho|spanning|werkspanning|u pv|pv v"},
	{"current", Current, "current|amps|ampere|amperes|i|a|imp|impp|operating current|working current|panel current|pv current|pv amps|ipv|solar current|strom|arbeitsstrom|modulstrom|courant|courant de service|corriente|intensidad|corrente|corrente di lavoro|corrente de trabalho|stroom|werkstroom|i pv|pv a"},
	{"power", Power, "power|watts|watt|w|p|pv power|pv w|pv watts|solar power|solar watts|leistung|pv leistung|solarleistung|puissance|puissance pv|potencia|potencia solar|potenza|potencia pv|vermogen|pmax|pmpp|pmp|p pv|ppv"},
	{"irradiance", Irradiance, "irradiance|light|light in the plane|sun|solar irradiance|poa|g|g poa|gpoa|plane of array|einstrahlung|strahlung|bestrahlungsstaerke|globalstrahlung|irradiation|eclairement|ensoleillement|rayonnement|irradiancia|radiacion|radiacion solar|irraggiamento|irradianza|radiazione|irradiacao|instraling|zonnestraling|w m2"},
	{"reference_isc", Current, "reference isc|reference amps|reference current|ref isc|isc ref|i ref|reference module amps|referenzstrom|courant de reference|corriente de referencia|corrente di riferimento|corrente de referencia|referentiestroom"},
	{"module_temperature", Temperature, "module temperature|module temp|panel temperature|panel temp|back temperature|back temp|back|t back|t mod|tmod|tm|cell temperature|cell temp|t cell|tc|modultemperatur|rueckseite|rueckseitentemperatur|zelltemperatur|temperature module|temperature du module|temperature panneau|temperatura modulo|temperatura del modulo|temperatura panel|temperatura pannello|temperatura painel|moduletemperatuur|paneeltemperatuur|temp back"},
	{"air_temperature", Temperature, "air temperature|air temp|air|ambient|ambient temperature|ambient temp|t amb|tamb|ta|t air|lufttemperatur|aussentemperatur|umgebungstemperatur|luft|temperature air|temperature de l air|temperature ambiante|temperatura ambiente|temperatura aire|temperatura aria|temperatura ar|luchttemperatuur|buitentemperatuur"},
	{"temperature", Temperature, "temperature|temp|t|temperatur|temperatura|temperatuur"},
	{"battery_temperature", Temperature, "battery temperature|battery temp|batt temp|t bat|t batt|batterietemperatur|temperature batterie|temperatura bateria|temperatura batteria|accutemperatuur"},
	{"battery_voltage", Voltage, "battery voltage|battery volts|batt v|u bat|v bat|vbat|ubat|batteriespannung|tension batterie|tension bateria|voltaje bateria|tensione batteria|tensao bateria|accuspanning"},
	{"battery_current", Current, "battery current|battery amps|batt a|i bat|ibat|batteriestrom|courant batterie|corriente bateria|corrente batteria|corrente bateria|accustroom"},
	{"yield", Energy, "yield|yield today|energy|energy today|lifetime yield|total yield|yield total|ertrag|tagesertrag|energie|gesamtertrag|production|energia|produccion|produzione|producao|opbrengst"},
	{"soc", Ratio, "soc|state of charge|ladezustand|etat de charge|estado de carga|stato di carica|laadtoestand"},
	{"sky", Words, "sky|weather|clouds|himmel|wetter|bewoelkung|ciel|meteo|nuages|cielo|tiempo|nubes|nuvole|ceu|nuvens|lucht|bewolking"},
	{"tilt", Angle, "tilt|slope|inclination|neigung|inclinaison|inclinacion|inclinazione|inclinacao|helling"},
	{"facing", Angle, "facing|azimuth|azimut|ausrichtung|orientation|orientacion|orientamento|orientacao|richting"},
	{"in_sun", Span, "in sun|minutes in sun|min in sun|soak|time in sun|in der sonne|au soleil|al sol|al sole|ao sol|in de zon"},
	{"who", Words, "who|by|reader|wer|qui|quien|chi|quem|wie"},
	{"instrument", Words, "instrument|meter|messgeraet|appareil|instrumento|strumento|meetinstrument|multimeter"},
	{"note", Words, "note|notes|remark|remarks|comment|comments|bemerkung|notiz|remarque|commentaire|nota|notas|observaciones|osservazioni|opmerking"},
	{"photo", Words, "photo|photograph|picture|foto|bild|image|fotografia"},
	{"cleaned", Words, "cleaned|clean|gereinigt|nettoye|limpio|pulito|limpo|schoon"},
}

// accents are letters and what stands for them in header words.
var accents = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "ß", "ss", "é", "e", "è", "e", "ê", "e", "ë", "e", "à", "a", "â", "a", "á", "a", "ã", "a",
	"å", "a", "ç", "c", "î", "i", "ï", "i", "í", "i", "ì", "i", "ó", "o", "ò", "o", "ô", "o", "õ", "o", "ú", "u", "ù", "u", "û", "u", "ñ", "n", "²", "2", "°", " ")

// plainHead returns a header without its unit, accents, case and punctuation, words apart by one space.
func plainHead(head string) string {
	var b strings.Builder
	for _, r := range accents.Replace(strings.ToLower(head)) {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			b.WriteRune(r)
		} else {
			b.WriteByte(' ')
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// splitHead parts a header into its words and its unit: "Power (W)", "U [mV]", "pv_w", "Spannung in V".
func splitHead(head string) (words, unit string) {
	head = strings.TrimSpace(head)
	for _, b := range []string{"()", "[]", "{}"} {
		open := strings.LastIndexByte(head, b[0])
		shut := strings.LastIndexByte(head, b[1])
		if open >= 0 && shut > open {
			if u := strings.TrimSpace(head[open+1 : shut]); unitOf(u) != nil || open > 0 {
				return strings.TrimSpace(head[:open] + " " + head[shut+1:]), u
			}
		}
	}
	for _, sep := range []string{" in ", " / ", "/", ", ", "_", " ", "."} {
		at := strings.LastIndex(head, sep)
		if at <= 0 || sep == "/" && strings.ContainsAny(head[:at], " _") {
			continue
		}
		if u := strings.TrimSpace(head[at+len(sep):]); unitOf(u) != nil {
			if sep == "/" && at > 0 && unitOf(head[:at]) != nil {
				continue // kW/m² alone
			}
			if before := strings.TrimSpace(head[:at]); before != "" {
				return before, u
			}
		}
	}
	return head, ""
}

// fit returns how well a header means a field: the letters of the longest matching words, 0 for none. A
// head that is not the whole header counts half.
func (f *Field) fit(words string) int {
	best := 0
	if words == strings.ReplaceAll(f.Name, "_", " ") {
		return 100
	}
	for h := range strings.SplitSeq(f.Heads, "|") {
		switch {
		case words == h:
			best = max(best, 60+len(h))
		case len(h) > 2 && strings.Contains(" "+words+" ", " "+h+" "):
			best = max(best, 2*len(h))
		}
	}
	return best
}
