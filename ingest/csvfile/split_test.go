package csvfile

import (
	"encoding/csv"
	"slices"
	"strings"
	"testing"
)

// reference splits a row with encoding/csv, as the rows were read before.
func reference(row string, d delimiter) ([]string, error) {
	r := csv.NewReader(strings.NewReader(row))
	r.Comma = rune(d)
	r.LazyQuotes = true
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = d != '\t'
	return r.Read()
}

func checkSplit(t *testing.T, row string, d delimiter) {
	t.Helper()
	// Rows hold no carriage returns at their end and no empty lines; encoding/csv passes over these.
	if strings.ContainsAny(row, "\r") || strings.Trim(row, "\n") == "" || strings.HasPrefix(row, "\n") || strings.HasSuffix(row, "\n") || d.openQuote(row) {
		return
	}
	want, err := reference(row, d)
	if err != nil {
		return
	}
	if strings.Contains(row, "\n") && !isOneRow(row, d) {
		return
	}
	if got := d.split(nil, row); !slices.Equal(got, want) {
		t.Errorf("%q by %q: got %q, encoding/csv has %q", row, d.text(), got, want)
	}
}

// isOneRow reports whether every line break of a text is inside a quoted cell.
func isOneRow(row string, d delimiter) bool {
	for i := range len(row) {
		if row[i] == '\n' && !d.openQuote(row[:i]) {
			return false
		}
	}
	return true
}

func TestSplit(t *testing.T) {
	for _, row := range []string{
		"a,b,c", "", ",", ",,", "a, b ,c", `"a","b"`, `"a,b",c`, `"a""b",c`, `a"b,c`, `a,"b"`, `"a"b",c`, ` "a" ,b`, `"a" b,c`, `"",""`, `"a`, `"a
b",c`, `14" jig,x`, `a,"14"" jig"`, "a,\u00a0b", `","`, `""`, `"a"`, `"a",`,
	} {
		for _, d := range []delimiter{',', ';', '\t', '|'} {
			checkSplit(t, strings.ReplaceAll(row, ",", string(rune(d))), d)
		}
	}
}

func TestSplitBlanks(t *testing.T) {
	for _, c := range []struct {
		d    delimiter
		row  string
		want []string
	}{
		{blanks, "  a b\t c  ", []string{"a", "b", "c"}},
		{blanks, `a "b"`, []string{"a", "b"}},
		{twoBlank, "2031-10-04 12:00  6.2", []string{"2031-10-04 12:00", "6.2"}},
		{twoBlank, "a b\tc   d", []string{"a b", "c", "d"}},
		{blanks, "", []string{""}},
	} {
		if got := c.d.split(nil, c.row); !slices.Equal(got, c.want) {
			t.Errorf("%q: %q, want %q", c.row, got, c.want)
		}
	}
}

func FuzzSplit(f *testing.F) {
	for _, row := range []string{`a,"b""c", d`, "\"a\nb\",c", `"a"b,c`, "a;b\t\"c"} {
		f.Add(row)
	}
	f.Fuzz(func(t *testing.T, row string) {
		for _, d := range []delimiter{',', ';', '\t', '|'} {
			checkSplit(t, row, d)
		}
	})
}
