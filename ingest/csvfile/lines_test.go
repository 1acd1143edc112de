package csvfile

import (
	"fmt"
	"strings"
	"testing"
	"testing/iotest"
)

func TestLines(t *testing.T) {
	long := strings.Repeat("x", lineBytes+1)
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"line feeds", "a\nb\n", []string{"1 a", "2 b"}},
		{"carriage returns", "a\rb\r", []string{"1 a", "2 b"}},
		{"no last break", "a\r\nb", []string{"1 a", "2 b open"}},
		{"both", "a\r\nb\r\n", []string{"1 a", "2 b"}},
		{"two returns and a feed", "a\r\r\nb\r\r\r\nc", []string{"1 a", "2 b", "3 c open"}},
		{"mixed", "a\nb\r\nc\rd\n", []string{"1 a", "2 b", "3 c", "4 d"}},
		{"empty lines", "a\n\n\nb\n", []string{"1 a", "2 ", "3 ", "4 b"}},
		{"nothing", "", nil},
		{"many returns", "a" + strings.Repeat("\r", 40) + "\nb\n", nil},
		{"too long", "a\n" + long + "\r\nb\n", []string{"1 a", "2 " + long[:rowBytes] + " long", "3 b"}},
		{"too long at the end", long, []string{"1 " + long[:rowBytes] + " long open"}},
		{"just not too long", long[1:] + "\nb\n", []string{"1 " + long[1:], "2 b"}},
	} {
		for _, slowly := range []bool{false, true} {
			var in = newLineReader(strings.NewReader(c.text))
			if slowly {
				if len(c.text) > 1000 {
					continue
				}
				in = newLineReader(iotest.OneByteReader(strings.NewReader(c.text)))
			}
			var got []string
			for {
				l, ok := in.next()
				if !ok {
					break
				}
				s := fmt.Sprintf("%d %s", l.no, l.text)
				if l.long {
					s += " long"
				}
				if l.open {
					s += " open"
				}
				got = append(got, s)
			}
			if in.failed() != nil {
				t.Errorf("%s: %v", c.name, in.failed())
			}
			if c.want == nil && c.text != "" {
				if got[0] != "1 a" || !strings.HasSuffix(got[len(got)-1], " b") {
					t.Errorf("%s: %q", c.name, got)
				}
				continue
			}
			if fmt.Sprint(got) != fmt.Sprint(c.want) {
				t.Errorf("%s, slowly %t: got %.200q, want %.200q", c.name, slowly, got, c.want)
			}
		}
	}
}

// What is told of lines does not depend on how the text comes.
func FuzzLines(f *testing.F) {
	f.Add("a\r\nb\rc\n\n\r\r\nd")
	f.Fuzz(func(t *testing.T, text string) {
		read := func(l *lineReader) (out []rawLine) {
			for {
				r, ok := l.next()
				if !ok {
					return out
				}
				out = append(out, r)
			}
		}
		a, b := read(newLineReader(strings.NewReader(text))), read(newLineReader(iotest.OneByteReader(strings.NewReader(text))))
		if fmt.Sprint(a) != fmt.Sprint(b) {
			t.Fatalf("%+v at once, %+v by bytes", a, b)
		}
		n := 0
		for _, l := range a {
			n += len(l.text)
		}
		if n > len(text) {
			t.Fatal("more text than there is")
		}
	})
}
