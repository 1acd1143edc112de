package head

import "testing"

func TestProfiles(t *testing.T) {
	for _, c := range []struct {
		name string
		p    Profile
		at   map[float64]float64
	}{
		{"still", Profile{}, map[float64]float64{0: 0, 9: 0}},
		{"uniform", Uniform(0.3), map[float64]float64{0: 0.3, 50: 0.3}},
		{"shear", LinearShear(0.5, 0.1, 8), map[float64]float64{0: 0.5, 4: 0.3, 8: 0.1, 20: 0.1}},
		{"reversed", LinearShear(0.4, -0.2, 6), map[float64]float64{0: 0.4, 4: 0, 6: -0.2}},
		// (1 - 9/10)^(1/7) = 0.7197; the seventh root of a tenth.
		{"power", PowerLaw(0.5, 10, 7), map[float64]float64{0: 0.5, 9: 0.5 * 0.71968567, 10: 0, 11: 0}},
		{"layers", Layered(Layer{3, 0.4}, Layer{2, 0}, Layer{1, -0.1}), map[float64]float64{0: 0.4, 2.9: 0.4, 3.1: 0, 4.9: 0, 5.1: -0.1, 99: -0.1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for z, want := range c.at {
				within(t, c.name, c.p.SpeedMPS(z), want, 1e-8)
			}
		})
	}
}

// Jumps in any order are found: the solver is as exact as with ordered ones.
func TestProfileOrdersItsBreaks(t *testing.T) {
	layers := Layered(Layer{2, 0.5}, Layer{1, 0.1}, Layer{3, 0.4}, Layer{4, 0.2})
	var shapes []Shape
	for _, p := range []Profile{layers, NewProfile(layers.SpeedMPS, 6, 2, 10, 3)} {
		shapes = append(shapes, mustHang(t, scaled(1, 0, 1, 0, 0, 9, p)))
	}
	if shapes[0] != shapes[1] {
		t.Errorf("%+v and %+v", shapes[0], shapes[1])
	}
}

func TestLayeredRefusesNonsense(t *testing.T) {
	for name, f := range map[string]func(){
		"none":    func() { Layered() },
		"no feet": func() { Layered(Layer{0, 0.3}) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
}
