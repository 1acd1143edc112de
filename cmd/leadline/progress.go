package main

import (
	"time"
)

// patience is how long a step may take before a person is told about it.
const patience = time.Second

// progress tells a person what goes on, once a second and only once the whole
// has taken longer than their patience. It is one line a time rather than a
// moving bar, so that it reads well in a log too.
type progress struct {
	say  func(format string, args ...any)
	next time.Time
}

func (a *app) progress() *progress {
	return &progress{say: a.say, next: time.Now().Add(patience)}
}

func (p *progress) step(what string) {
	if now := time.Now(); now.After(p.next) {
		p.say("%s …", what)
		p.next = now.Add(patience)
	}
}

func (p *progress) file(done, total int) {
	if now := time.Now(); now.After(p.next) {
		p.say("read %d of %d files …", done, total)
		p.next = now.Add(patience)
	}
}
