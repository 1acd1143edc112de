package csvfile

import (
	"strings"
	"unicode"

	"leadline/ingest"
	"leadline/ingest/si"
)

// role is what a column can be read as.
type role uint8

const (
	unknown role = iota
	colTime
	colDate
	colClock
	colLat
	colLon
	colLatSide
	colLonSide
	colDepth
	colFishDepth
	colTemp
	colSpeed
	colKind
	colSpecies
	colCount
	colLength
	colWeight
	colHead
	colTrailer
	colNote
	colLevel
	colWind
	colWindFrom
	roles // their number
)

// meaning is what a person is told of a role, and the quantity its cells hold.
type meaning struct {
	readAs   string
	quantity *si.Quantity
	names    string // spellings that are taken, plainest first, separated by |, as plain prepares them
}

// meanings is the one table of column names: English first, then German, French,
// Spanish and Italian, and misspellings seen in people's files. Of two columns for
// one thing the one whose name stands further to the left is read.
var meanings = [roles]meaning{
	colTime: {"time", nil, "time|timestamp|time stamp|datetime|date time|date and time|date/time|utc|gps time|gpstime|utc time|" +
		"local time|epoch|epoch time|unix|unix time|unixtime|posix time|recorded|recorded at|logged at|" +
		"zeitstempel|datum zeit|datum/zeit|datum uhrzeit|datum/uhrzeit|horodatage|date heure|date/heure|date et heure|" +
		"fecha hora|fecha/hora|fecha y hora|data ora|data/ora|data e ora"},
	colDate:  {"date", nil, "date|day|gps date|utc date|local date|datum|fecha|data|jour|día|dia|giorno"},
	colClock: {"clock", nil, "clock|clock time|time of day|uhrzeit|zeit|hora|heure|ora|orario"},
	colLat: {"latitude", nil, "lat|latitude|gps lat|gps latitude|latitde|lattitude|latitud|latitudine|breite|breitengrad|" +
		"geogr breite|geographische breite"},
	colLon: {"longitude", nil, "lon|long|lng|longitude|gps lon|gps long|gps longitude|longitde|longtitude|longitud|longitudine|länge|laenge|" +
		"längengrad|laengengrad|geogr länge|geographische länge"},
	colLatSide: {"north or south", nil, "n/s|ns|north/south|lat dir|lat hemisphere|latitude direction"},
	colLonSide: {"east or west", nil, "e/w|ew|east/west|lon dir|lon hemisphere|longitude direction"},
	colDepth: {"depth", si.Length, "depth|water depth|bottom depth|bottom|sounding|sonar depth|depth below transducer|dbt|" +
		"depth below surface|depth below the surface|dbs|depth below waterline|depth below keel|depth below the keel|depth under keel|dbk|depht|dept|deph|" +
		"tiefe|wassertiefe|tiefe unter wasseroberfläche|tiefe unter kiel|profondeur|prof|profondeur d'eau|profondeur de l'eau|profundidad|profundidad del agua|" +
		"profondità|profondita|profondità dell'acqua"},
	colFishDepth: {"fish depth", si.Length, "fish depth|depth of fish|caught at depth|fangtiefe"},
	colTemp: {"water temperature", si.Temperature, "water temp|water temperature|watertemp|wtemp|temp|temperature|surface temp|surface temperature|" +
		"wassertemperatur|wassertemp|temperatur|température|température de l'eau|temperatura|temperatura del agua|temperatura dell'acqua"},
	colSpeed:    {"speed", si.Speed, "speed|sog|speed over ground|ground speed|gps speed|boat speed|geschwindigkeit|fahrt|vitesse|velocidad|velocità|velocita"},
	colKind:     {"kind", nil, "kind|event|event kind|event type|type"},
	colSpecies:  {"species", nil, "species|fish|fish species|art|fischart|espèce|especie|specie"},
	colCount:    {"count", nil, "count|number|number of fish|fish count|qty|quantity|anzahl"},
	colLength:   {"fish length", si.Length, "length|fish length|len"},
	colWeight:   {"fish weight", si.Mass, "weight|fish weight|wt"},
	colHead:     {"head weight", si.Mass, "head|head weight|jig|jig head|jighead|jig weight|jig head weight"},
	colTrailer:  {"trailer length", si.Length, "trailer|trailer length"},
	colNote:     {"note", nil, "note|notes|comment|comments|remark|remarks"},
	colLevel:    {"water level", si.Length, "level|water level|waterlevel|lake level|pool|pool level|pool elevation|lake elevation|water surface elevation|stage|gauge|gauge height|gage height|pegel|wasserstand"},
	colWind:     {"wind speed", si.Speed, "wind|wind speed|windspeed"},
	colWindFrom: {"wind direction", nil, "wind from|wind from deg|wind direction|wind dir|winddir"},
}

// depthRefs tells which names of a depth say from where down it is; all others are
// taken to be below the transducer.
var depthRefs = map[string]ingest.DepthRef{
	"water depth": ingest.BelowSurface, "wassertiefe": ingest.BelowSurface, "profondeur d'eau": ingest.BelowSurface, "profondeur de l'eau": ingest.BelowSurface,
	"profundidad del agua": ingest.BelowSurface, "profondità dell'acqua": ingest.BelowSurface, "tiefe unter wasseroberfläche": ingest.BelowSurface,
	"depth below surface": ingest.BelowSurface, "depth below the surface": ingest.BelowSurface, "depth below waterline": ingest.BelowSurface, "dbs": ingest.BelowSurface,
	"depth below keel": ingest.BelowKeel, "depth below the keel": ingest.BelowKeel, "depth under keel": ingest.BelowKeel, "dbk": ingest.BelowKeel, "tiefe unter kiel": ingest.BelowKeel,
}

// refWords are the words that say the same behind a name: "Depth (ft below surface)".
var refWords = map[string]ingest.DepthRef{
	"surface": ingest.BelowSurface, "waterline": ingest.BelowSurface, "keel": ingest.BelowKeel, "transducer": ingest.BelowTransducer,
}

// noColumn is what a person says of a column that is not to be read.
const noColumn = "none"

// monthNames are the beginnings of months' names: English, then what German,
// French, Spanish and Italian have instead.
var monthNames = [12][]string{
	{"jan", "ene", "gen"}, {"feb", "fév", "fev"}, {"mar", "mär", "maer", "mrz"}, {"apr", "avr", "abr"}, {"may", "mai", "mag"}, {"jun", "juin", "giu"},
	{"jul", "juil", "lug"}, {"aug", "aoû", "aou", "ago"}, {"sep", "set"}, {"oct", "okt", "ott"}, {"nov"}, {"dec", "dez", "déc", "dic"},
}

// month returns the number of a month by its name; 0 when it is none.
func month(word string) int {
	word = strings.TrimSuffix(strings.ToLower(word), ".")
	for i, names := range monthNames {
		for _, n := range names {
			if strings.HasPrefix(word, n) && len([]rune(word)) <= len("september") {
				return i + 1
			}
		}
	}
	return 0
}

var compass = strings.Fields("N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW")

// spelling is a column name of the table.
type spelling struct {
	role role
	rank int // place among the role's names, 0 the plainest
	ref  ingest.DepthRef
}

var spellings = func() map[string]spelling {
	m := map[string]spelling{}
	for r, w := range meanings {
		if w.names == "" {
			continue
		}
		for i, n := range strings.Split(w.names, "|") {
			m[n] = spelling{role(r), i, depthRefs[n]}
		}
	}
	return m
}()

// plain brings a column name to the form of the table: "  WaterTemp_" to "water temp".
func plain(s string) string {
	var b strings.Builder
	before := ' '
	for _, r := range s {
		switch {
		case strings.ContainsRune("_-.:;,#%\"", r) || unicode.IsSpace(r):
			r = ' '
		case unicode.IsUpper(r) && unicode.IsLower(before):
			b.WriteByte(' ')
		case r == '’':
			r = '\''
		}
		b.WriteRune(unicode.ToLower(r))
		before = r
	}
	return strings.Join(strings.Fields(strings.Trim(b.String(), "' ")), " ")
}
