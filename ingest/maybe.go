package ingest

import "encoding/json"

// Maybe is a quantity that may be unknown. The zero value is unknown; the unit
// is that of the field's name. It marshals to a JSON number, or to null.
type Maybe struct {
	V  float64 // meaningless unless OK
	OK bool
}

// Known returns v as a known quantity.
func Known(v float64) Maybe { return Maybe{V: v, OK: true} }

// MarshalJSON writes the number, or null when it is unknown.
func (m Maybe) MarshalJSON() ([]byte, error) {
	if !m.OK {
		return []byte("null"), nil
	}
	return json.Marshal(m.V)
}

// UnmarshalJSON reads a number, or null as unknown.
func (m *Maybe) UnmarshalJSON(b []byte) error {
	var v *float64
	if err := json.Unmarshal(b, &v); err != nil {
		return err
	}
	*m = Maybe{}
	if v != nil {
		*m = Known(*v)
	}
	return nil
}
