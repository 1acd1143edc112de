package pack

import (
	"encoding/binary"
	"math/bits"
	"slices"
)

// Few distinct values.
//
// The distinct values are sorted and kept once, by rank: as whole numbers in the order of
// the floats. Each row keeps the place of its value among them, so that values close
// together are small differences whatever the values are. A depth that an instrument gave
// in steps of a tenth of a foot needs as little as the number of the step.
//
// Worked example, by hand: +Inf, -0, +Inf. The ranks are 0x7FF0000000000000 (bits of
// infinity) and -1 (-0 comes just before 0), sorted -1, 0x7FF0000000000000; the places are
// 1, 0, 1.
//
// Cost: linear, and d log d for d distinct values. Does badly on short columns: a distinct
// value costs up to 9 bytes.

// distinctShare: a column with more distinct values than rows/distinctShare is given up.
// From there on the dictionary costs as much as half the rows kept raw.
const distinctShare = 2

// A long column is first judged by a sample of leastSample values, or one in sampleEvery: where hardly two of them are
// alike, the distinct ones are many. Of 512 values out of 18,000, each as likely as the other, some seven pairs are alike.
const leastSample, sampleEvery, mostAlike = 512, 64, 3

// allDiffer reports whether the values of a long column hardly ever come again.
func allDiffer(v []float64) bool {
	n := max(leastSample, len(v)/sampleEvery)
	if len(v) < 4*n {
		return false
	}
	sample := make([]int64, n)
	for i := range sample {
		sample[i] = rank(v[i*len(v)/n])
	}
	slices.Sort(sample)
	return n-len(slices.Compact(sample)) <= mostAlike
}

// dictionary is the blob of v by its distinct values, nil when these are many.
func dictionary(v []float64) []byte {
	if allDiffer(v) {
		return nil
	}
	limit := max(1, len(v)/distinctShare)
	room := signed.get(len(v))
	defer signed.put(room)
	places := *room
	distinct := count(v, limit, places)
	if distinct == nil {
		return nil
	}
	sorted := slices.Clone(distinct)
	slices.Sort(sorted)
	order := make([]int64, len(distinct)) // from the order of appearance to the sorted one
	for i, r := range distinct {
		at, _ := slices.BinarySearch(sorted, r)
		order[i] = int64(at)
	}
	for i, p := range places {
		places[i] = order[p]
	}
	d := Ints(sorted)
	b := binary.AppendUvarint(appendHeader(nil, codeDictionary, len(v)), uint64(len(d)))
	return append(append(b, d...), Ints(places)...)
}

// count gives the ranks of the distinct values of v as they appear, and puts for each row its
// place among them into places; nil when there are more than limit. An open hash table of a power of
// two of cells, at most half full.
func count(v []float64, limit int, places []int64) (distinct []int64) {
	width := bits.Len(uint(min(limit, 255)))
	table := make([]int32, 2<<width)       // 1 + place among distinct, 0 is free
	last, lastPlace := int64(0), int64(-1) // many values follow their like
	for i, x := range v {
		r := rank(x)
		if r == last && lastPlace >= 0 {
			places[i] = lastPlace
			continue
		}
		cell, place := find(table, distinct, r)
		if place < 0 {
			if len(distinct) == limit {
				return nil
			}
			if 2*len(distinct) >= len(table) {
				table = make([]int32, 4*len(table))
				for j, old := range distinct {
					c, _ := find(table, distinct[:j], old)
					table[c] = int32(j + 1)
				}
				cell, _ = find(table, distinct, r)
			}
			place = len(distinct)
			distinct = append(distinct, r)
			table[cell] = int32(place + 1)
		}
		last, lastPlace = r, int64(place)
		places[i] = lastPlace
	}
	return distinct
}

// find gives the cell in which r is or belongs, and its place, -1 when it isn't there.
func find(table []int32, distinct []int64, r int64) (cell, place int) {
	// Multiplying by 2^64 over the golden ratio scatters neighbours (Knuth, The Art of
	// Computer Programming, volume 3, section 6.4); its high bits depend on all below.
	cell = int(uint64(r) * 0x9E3779B97F4A7C15 >> (65 - bits.Len(uint(len(table)))))
	for ; table[cell] != 0; cell = (cell + 1) & (len(table) - 1) {
		if p := int(table[cell] - 1); distinct[p] == r {
			return cell, p
		}
	}
	return cell, -1
}

func decodeDictionary(room []float64, _ byte, n int, b []byte) ([]float64, error) {
	d, b, err := takeNested(b, "distinct values")
	if err != nil {
		return nil, err
	}
	_, m, _, err := header(d, codeInts)
	if err != nil {
		return nil, inside("distinct values", err)
	}
	if m > n {
		return nil, damaged("%d distinct values, want at most %d", m, n)
	}
	distinct, err := nestedInts(nil, d, m, "distinct values")
	if err != nil {
		return nil, err
	}
	lent := signed.get(0)
	defer signed.put(lent)
	places, err := nestedInts(*lent, b, n, "places")
	if err != nil {
		return nil, err
	}
	*lent = places
	v := resized(room, n)
	for i, p := range places {
		if uint64(p) >= uint64(len(distinct)) {
			return nil, damaged("row %d has distinct value %d, want 0 to %d", i, p, len(distinct)-1)
		}
		v[i] = value(distinct[p])
	}
	return v, nil
}
