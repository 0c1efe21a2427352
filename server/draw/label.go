package draw

import "sort"

// Type sizes and the heights of their lines, pixels. Nothing on a log is
// smaller than small.
const (
	sizeWords, lineWords = 14.0, 17.5
	sizeSmall, lineSmall = 12.0, 15.5
	labelGap             = 4.0
)

// label is what is written beside a log at one depth: pieces of text at
// offsets from its own top, and a leader to the place it speaks of.
type label struct {
	m      float64 // the depth it speaks of, which says its order
	span   Span    // where else its leader may begin; m alone when zero
	rank   int     // order among labels of one depth
	height float64
	first  float64 // middle of its first line, below its top
	srcX   float64 // where the leader begins
	pieces []piece
	colour string // of the leader
	title  string
}

// piece is one line of text of a label. dy is the middle of the line.
type piece struct {
	dx, dy, size float64
	text, fill   string
	bold, end    bool // end: dx is where the text ends
}

// text writes one line of text with its middle at y.
func (s *SVG) line1(x, y, size float64, t, fill string, bold, end bool) {
	if t == "" {
		return
	}
	s.Start("text").N("x", x).N("y", y+size*0.36).N("font-size", size).A("fill", fill)
	if bold {
		s.A("font-weight", "600")
	}
	if end {
		s.A("text-anchor", "end")
	}
	s.Text(t)
}

// stackLabels sorts labels by depth and places them, giving each one's top.
func stackLabels(labels []label, sc Scale, lo, hi float64) []float64 {
	sortLabels(labels)
	want, heights := make([]float64, len(labels)), make([]float64, len(labels))
	for i, l := range labels {
		want[i] = sc.Y(l.m) - l.first + l.height/2
		heights[i] = l.height
	}
	return Push(want, heights, labelGap, lo, hi)
}

func sortLabels(labels []label) {
	sort.SliceStable(labels, func(i, j int) bool {
		if labels[i].m != labels[j].m {
			return labels[i].m < labels[j].m
		}
		return labels[i].rank < labels[j].rank
	})
}

// labelRoom is the height that labels need.
func labelRoom(labels []label) float64 {
	heights := make([]float64, len(labels))
	for i, l := range labels {
		heights[i] = l.height
	}
	return StackHeight(heights, labelGap)
}

// drawLabels writes labels whose pieces are measured from x, with leaders that
// end at x less reach (to the right of the ground) or x plus reach (to its
// left, with a negative reach). Given a halo colour, the letters keep lines
// that run behind them at a distance.
func (s *SVG) drawLabels(labels []label, tops []float64, sc Scale, x, reach float64, halo string) {
	// Leaders first, so that no line runs over a word.
	sources := leaderSources(labels, tops, sc)
	for i, l := range labels {
		if l.colour == "" {
			continue
		}
		y, src := tops[i]+l.first, sources[i]
		end := x - reach
		// Among many that run nearly upright none can be followed; the depths
		// written beside say it better.
		if l.span != (Span{}) && abs(y-src) > 5*abs(end-l.srcX) {
			continue
		}
		knee := l.srcX + (end-l.srcX)*0.25
		var p Path
		p.M(l.srcX, src)
		if abs(y-src) > 0.6 {
			p.L(knee, src).L(end-(end-l.srcX)*0.2, y)
		} else {
			y = src
		}
		p.L(end, y)
		s.Start("path").D(&p).A("stroke", l.colour).N("stroke-width", 0.9).A("fill", "none").End()
	}
	for i, l := range labels {
		s.Start("g")
		if halo != "" {
			s.A("stroke", halo).N("stroke-width", 3).A("stroke-linejoin", "round").A("paint-order", "stroke")
		}
		s.Open()
		if l.title != "" {
			s.Title(l.title)
		}
		for _, p := range l.pieces {
			s.line1(x+p.dx, tops[i]+p.dy, p.size, p.text, p.fill, p.bold, p.end)
		}
		s.Close()
		s.Line()
	}
}

// leaderSources says where each label's leader begins. What speaks of an
// interval is led to the point of it nearest to the words, so that most
// leaders run straight; they never cross, since the order is kept.
func leaderSources(labels []label, tops []float64, sc Scale) []float64 {
	n := len(labels)
	lo, hi, out := make([]float64, n), make([]float64, n), make([]float64, n)
	for i, l := range labels {
		lo[i], hi[i] = sc.Y(l.m), sc.Y(l.m)
		if a, b := sc.Y(l.span.TopM)+3, sc.Y(l.span.BottomM)-3; b > a && a <= lo[i] && hi[i] <= b {
			lo[i], hi[i] = a, b
		}
		if i > 0 {
			lo[i] = max(lo[i], lo[i-1])
		}
	}
	for i := n - 1; i >= 0; i-- {
		if i+1 < n {
			hi[i] = min(hi[i], hi[i+1])
		}
		out[i] = min(max(tops[i]+labels[i].first, lo[i]), hi[i])
	}
	return out
}

// farthest is how far the label that had to move most stands from where its
// leader begins.
func farthest(labels []label, tops []float64, sc Scale) float64 {
	most := 0.0
	for i, y := range leaderSources(labels, tops, sc) {
		most = max(most, abs(tops[i]+labels[i].first-y))
	}
	return most
}
