//go:build reference

package main

import (
	"fmt"
	"sync"
	"testing"

	"leadline/ingest/madelake"
)

// add adds another tally.
func (k *killTally) add(x killTally) {
	k.old, k.new, k.finished = k.old+x.old, k.new+x.new, k.finished+x.finished
	k.journal, k.halfWritten = k.journal+x.journal, k.halfWritten+x.halfWritten
}

// Three hundred kills of an import into a season of eight days, and forty of a first one; two at a time. With -short
// a fifth of the kills, which may miss a state of a new logbook.
func TestThreeHundredKills(t *testing.T) {
	s := makeSeason(t, madelake.Default(1, madelake.Small))
	kills, first := 300, 40
	if testing.Short() {
		kills, first = 60, 8
	}
	var all killTally
	var mu sync.Mutex
	t.Run("two at a time", func(t *testing.T) {
		for seed := range uint64(2) {
			t.Run(fmt.Sprint(seed), func(t *testing.T) {
				t.Parallel()
				k := s.kill(t, kills/2, 100+seed)
				mu.Lock()
				defer mu.Unlock()
				all.add(k)
			})
		}
	})
	all.hold(t)
	if n := all.kills(); n != kills {
		t.Errorf("%d kills", n)
	}
	none, empty, whole := s.killNew(t, first, 100)
	if !testing.Short() && (none == 0 || empty == 0 || whole == 0) {
		t.Error("not every state of a new logbook was seen")
	}
}
