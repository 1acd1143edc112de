package isoline

// The border of the known squares, cut into pieces by band. It is walked with the
// known square on the left. From one node to the next it passes the levels
// between their values in order, and each stretch belongs to the band around it:
//
//	node (band 0) — crossing of level 1 — crossing of level 2 — node (band 2)
//
// Where values rise, the stretch after a crossing belongs to the band above its
// level and goes on from the crossing's next; where they fall, to the band below
// and from its prev. The other of the two is the line that comes in there.
//
// Where two known squares meet at a corner only, the node there counts twice, once
// in each square, so that the walk stays in its square; the two are twins.

// borderNode gives node i of row j a number if some but not all squares around it
// are known.
func (t *tracer) borderNode(i, j int, n *nodes, under, over *strip) {
	sw, se, nw, ne := i > 0 && under.known[i-1], under.known[i], i > 0 && over.known[i-1], over.known[i]
	if sw && se && nw && ne || !(sw || se || nw || ne) {
		return
	}
	id := t.points.count
	p := point{t.place(float64(i), float64(j)), -1, -1, n.class[i] - 1, noTwin}
	n.below[i], n.above[i] = id, id
	if sw == ne && se == nw { // and sw != se: they meet at a corner
		n.above[i] = id + 1
		p.twin = id + 1
		t.points.add(p)
		p.twin = id
	}
	t.points.add(p)
}

// bordersLevel walks the borders that lie on a row of nodes.
func (t *tracer) bordersLevel(n *nodes, under, over *strip) {
	for i := range len(n.class) - 1 {
		switch south, north := under.known[i], over.known[i]; {
		case north && !south:
			t.walk(n.above[i], n.above[i+1], n.edge[i], n.class[i], n.class[i+1], false)
		case south && !north:
			t.walk(n.below[i+1], n.below[i], n.edge[i], n.class[i+1], n.class[i], true)
		}
	}
}

// bordersUpright walks the borders that run north between two rows of nodes.
func (t *tracer) bordersUpright(south, north *nodes, s *strip) {
	west := false
	for i, east := range s.known {
		switch {
		case west && !east:
			t.walk(south.above[i], north.below[i], s.edge[i], south.class[i], north.class[i], false)
		case east && !west:
			t.walk(north.below[i], south.above[i], s.edge[i], north.class[i], south.class[i], true)
		}
		west = east
	}
}

// walk joins the border from one node to the next, of those classes, along an edge
// whose crossings are numbered as in nodes, backwards where told.
func (t *tracer) walk(from, to, edge int32, classFrom, classTo int32, backwards bool) {
	sign := sense(classFrom, classTo)
	if backwards {
		sign = -sign
	}
	last := &t.points.at(from).next
	for k := classFrom; k < classTo; k++ {
		id := edge + sign*k
		*last, last = id, &t.points.at(id).next
	}
	for k := classFrom - 1; k >= classTo; k-- {
		id := edge + sign*k
		*last, last = id, &t.points.at(id).prev
	}
	*last = to
}
