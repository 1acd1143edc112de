package ingest

import "testing"

// What is given back must be no more than the records' own: tracks may lie side by side in one slice.
func TestGiveBackIsNoMoreThanItsOwn(t *testing.T) {
	all := make([]Fix, 5*leastRoom)
	for i := range all {
		all[i].Line = i + 1
	}
	r := Records{Tracks: []Track{{Fixes: all[:2*leastRoom]}, {Fixes: all[2*leastRoom : 3*leastRoom]}}, Soundings: make([]Sounding, leastRoom)}
	r.GiveBack()
	if r.Tracks != nil || r.Soundings != nil {
		t.Error("the records are still there")
	}
	for range 10 { // a pool may forget, and gives in any order
		for _, n := range []int{leastRoom, 2 * leastRoom, 3 * leastRoom} {
			room := NewFixes(n)
			if len(room) != 0 || cap(room) != n {
				t.Fatalf("length %d and room for %d, want 0 and %d", len(room), cap(room), n)
			}
			clear(room[:n])
		}
	}
	for i := 3 * leastRoom; i < len(all); i++ {
		if all[i].Line != i+1 {
			t.Fatalf("fix %d is overwritten", i)
		}
	}
	d := Day{Soundings: make([]PlacedSounding, leastRoom)}
	if d.GiveBack(); d.Soundings != nil || cap(NewPlaced(7)) != 7 || cap(NewSoundings(leastRoom)) != leastRoom {
		t.Error("the day's soundings are still there, or room is of another size")
	}
}
