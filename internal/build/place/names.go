package place

import "strings"

// otherNames are names in use beside GeoNames' own: country, the gazetteer's name, the others.
// From general knowledge.
const otherNames = `AT Vienna: Wien
BE Antwerpen: Antwerp, Anvers
BE Brussels: Bruxelles, Brussel
BE Gent: Ghent, Gand
BE Brugge: Bruges
CH Genève: Geneva, Genf
CH Zürich: Zurigo
CH Basel: Basle, Bale
CH Luzern: Lucerne
CZ Prague: Praha
CZ Pilsen: Plzen
CN Beijing: Peking
DE Köln: Cologne
DE Munich: Muenchen
DE Nürnberg: Nuremberg
DE Hannover: Hanover
DE Frankfurt am Main: Frankfurt
DK Copenhagen: Kobenhavn
DK Århus: Aarhus
ES Sevilla: Seville
ES Córdoba: Cordova
ES Donostia / San Sebastián: San Sebastián, Donostia
ES Zaragoza: Saragossa
ES A Coruña: La Coruna, Corunna
FI Helsinki: Helsingfors
FR Lyon: Lyons
FR Marseille: Marseilles
FR Strasbourg: Strassburg
GR Athens: Athina
GR Thessaloníki: Salonica, Saloniki
IE Dublin: Baile Atha Cliath
IN Mumbai: Bombay
IN Kolkata: Calcutta
IN Chennai: Madras
IN Bengaluru: Bangalore
IT Rome: Roma
IT Milan: Milano, Mailand
IT Naples: Napoli
IT Turin: Torino
IT Venice: Venezia, Venedig
IT Florence: Firenze
IT Genoa: Genova
IT Padova: Padua
MM Yangon: Rangoon
MX Mexico City: Ciudad de Mexico
MN Ulan Bator: Ulaanbaatar
MN Ulaanbaatar: Ulan Bator
NL The Hague: Den Haag, s-Gravenhage
PL Warsaw: Warszawa
PL Kraków: Cracow, Krakau
PL Gdańsk: Danzig
PL Wrocław: Breslau
PT Lisbon: Lisboa, Lissabon
PT Porto: Oporto
RO Bucharest: Bucuresti
RS Belgrade: Beograd
RU Moscow: Moskva
RU Saint Petersburg: Sankt-Peterburg
SE Göteborg: Gothenburg
TR Istanbul: Constantinople
UA Kyiv: Kiev
UA Kiev: Kyiv
US New York City: New York
US Washington, D.C.: Washington
US Barrow: Utqiagvik
VN Ho Chi Minh City: Saigon
`

// otherNames adds them to the index. A name that the gazetteer lacks is left out.
func (g *gazetteer) otherNames() {
	for line := range strings.Lines(otherNames) {
		own, others, _ := strings.Cut(strings.TrimSpace(line[3:]), ": ")
		for _, i := range g.byName[fold(own)] {
			if g.countries[g.towns[i].country].code != line[:2] {
				continue
			}
			for _, o := range strings.Split(others, ", ") {
				g.byName[fold(o)] = g.insert(g.byName[fold(o)], i)
			}
			break
		}
	}
}

// insert adds town i to a list that is sorted from most people.
func (g *gazetteer) insert(list []int32, i int32) []int32 {
	at := 0
	for at < len(list) && list[at] < i {
		at++
	}
	if at < len(list) && list[at] == i {
		return list
	}
	out := make([]int32, 0, len(list)+1)
	return append(append(append(out, list[:at]...), i), list[at:]...)
}
