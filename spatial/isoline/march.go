package isoline

// Edges of a square.
const (
	southEdge = iota
	eastEdge
	northEdge
	westEdge
)

// pieces lists, by which corners are high (1 south-west, 2 south-east, 4
// north-east, 8 north-west), the edges from and to which lines run, the high
// corners on their left; where two opposite ones are, those that keep them apart.
var pieces = [16][][2]uint8{
	1: {{southEdge, westEdge}}, 2: {{eastEdge, southEdge}}, 3: {{eastEdge, westEdge}}, 4: {{northEdge, eastEdge}},
	5: {{southEdge, westEdge}, {northEdge, eastEdge}}, 6: {{northEdge, southEdge}}, 7: {{northEdge, westEdge}},
	8: {{westEdge, northEdge}}, 9: {{southEdge, northEdge}}, 10: {{eastEdge, southEdge}, {westEdge, northEdge}},
	11: {{eastEdge, northEdge}}, 12: {{westEdge, eastEdge}}, 13: {{southEdge, eastEdge}}, 14: {{westEdge, southEdge}},
}

// touching lists the pieces where two opposite high corners touch.
var touching = [16][][2]uint8{
	5: {{southEdge, eastEdge}, {northEdge, westEdge}}, 10: {{westEdge, southEdge}, {eastEdge, northEdge}},
}

// march joins the crossings of each known square.
func (t *tracer) march(south, north *nodes, s *strip) {
	lower, upper := south.class, north.class[:len(south.class)]
	for i := range len(lower) - 1 {
		sw, se, nw, ne := lower[i], lower[i+1], upper[i], upper[i+1]
		if sw == se && nw == ne && sw == nw || !s.known[i] {
			continue
		}
		// The crossing of level k on edge e is number[e] + sign[e]·k.
		number := [4]int32{south.edge[i], s.edge[i+1], north.edge[i], s.edge[i]}
		sign := [4]int32{sense(sw, se), sense(se, ne), sense(nw, ne), sense(sw, nw)}
		saddle, hasSaddle := 0.0, false
		for k := min(sw, se, nw, ne); k < max(sw, se, nw, ne); k++ {
			code := bit(sw > k) | bit(se > k)<<1 | bit(ne > k)<<2 | bit(nw > k)<<3
			list := pieces[code]
			if len(list) == 2 {
				if !hasSaddle {
					saddle, hasSaddle = saddleOf(south.value[i], south.value[i+1], north.value[i], north.value[i+1]), true
				}
				if saddle >= t.levels[k] {
					list = touching[code]
				}
			}
			for _, p := range list {
				from, to := number[p[0]]+sign[p[0]]*k, number[p[1]]+sign[p[1]]*k
				t.points.at(from).next, t.points.at(to).prev = to, from
			}
		}
	}
}

// sense returns 1 where classes rise from a to b, else -1.
func sense(a, b int32) int32 {
	if a < b {
		return 1
	}
	return -1
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

// saddleOf returns the bilinear value at the saddle of a square of which opposite
// corners are high: (sw·ne - se·nw)/(sw + ne - se - nw), reckoned from the least so
// that little is lost, and with every product rounded so that turning the square
// changes nothing.
func saddleOf(sw, se, nw, ne float64) float64 {
	least := min(sw, se, nw, ne)
	sw, se, nw, ne = sw-least, se-least, nw-least, ne-least
	return least + (float64(sw*ne)-float64(se*nw))/((sw+ne)-(se+nw))
}
