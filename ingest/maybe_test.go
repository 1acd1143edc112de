package ingest

import (
	"encoding/json"
	"math"
	"testing"
)

func TestMaybeJSON(t *testing.T) {
	for _, c := range []struct {
		name string
		m    Maybe
		want string
	}{
		{"unknown", Maybe{}, "null"},
		{"unknown whatever it holds", Maybe{V: 3}, "null"},
		{"known", Known(3.5), "3.5"},
		{"zero is known", Known(0), "0"},
		{"negative", Known(-2), "-2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, err := json.Marshal(struct{ DepthM Maybe }{c.m})
			if err != nil || string(b) != `{"DepthM":`+c.want+`}` {
				t.Fatalf("got %s, %v", b, err)
			}
			back := struct{ DepthM Maybe }{Known(99)}
			if err := json.Unmarshal(b, &back); err != nil {
				t.Fatal(err)
			}
			if back.DepthM.OK != c.m.OK || c.m.OK && back.DepthM != c.m || !c.m.OK && back.DepthM != (Maybe{}) {
				t.Errorf("came back as %+v", back.DepthM)
			}
		})
	}
	if b, err := json.Marshal(Known(math.NaN())); err == nil {
		t.Errorf("NaN was written as %s", b)
	}
	var m Maybe
	if err := json.Unmarshal([]byte(`"deep"`), &m); err == nil || m.OK {
		t.Errorf("a word was read as %+v", m)
	}
}
