package main

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// progress is a bar on a terminal, and nothing elsewhere.
type progress struct {
	w     io.Writer
	what  string
	shown bool
	begun time.Time
	last  time.Time
}

func (c *console) progress(what string) *progress {
	p := &progress{what: what, begun: time.Now()}
	if c.tty {
		p.w = c.err
	}
	return p
}

// at shows how much is done, ten times a second at most.
func (p *progress) at(done, total int64, note string) {
	now := time.Now()
	if p.w == nil || now.Sub(p.last) < 100*time.Millisecond {
		return
	}
	p.last, p.shown = now, true
	share := 0.0
	if total > 0 {
		share = min(float64(done)/float64(total), 1)
	}
	const width = 30
	full := int(share * width)
	left := ""
	if share > 0.02 {
		rest := time.Duration(float64(now.Sub(p.begun)) * (1 - share) / share).Round(time.Second)
		left = fmt.Sprintf(", %s left", rest)
	}
	fmt.Fprintf(p.w, "\r\033[K%s [%s%s] %3.0f %%%s %s", p.what, strings.Repeat("=", full), strings.Repeat(" ", width-full), share*100, left, note)
}

// end clears the bar.
func (p *progress) end() {
	if p.shown {
		fmt.Fprint(p.w, "\r\033[K")
	}
}
