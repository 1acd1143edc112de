//go:build reference

package load

import (
	"testing"

	"leadline/ingest/madelake"
)

// The season that demo writes, at full rate: every log must be put right.
func TestClocksOfTheDemo(t *testing.T) {
	right, all := recoverClocks(t, madelake.Default(1, madelake.Full))
	t.Logf("%d of %d logs put right", right, all)
	if right != all {
		t.Errorf("%d of %d logs put right", right, all)
	}
}
