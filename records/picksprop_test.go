package records_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tallybook/records"
)

// drawLog draws a log without gaps in steps of a quarter metre, which float64
// holds exactly.
func drawLog(t *rapid.T) []layer {
	var log []layer
	at := 0.0
	for range rapid.IntRange(1, 8).Draw(t, "intervals") {
		thick := float64(rapid.SampledFrom([]int{1, 2, 4, 5, 6, 7, 10, 12, 13, 20, 40, 80}).Draw(t, "quarters")) / 4
		log = append(log, layer{at, at + thick, rapid.SampledFrom([]string{"soil", "soil", "rock", "rock", "rock", "transition", "void", "unknown"}).Draw(t, "class")})
		at += thick
	}
	return log
}

func bedrockOf(log []layer) records.Picks { return records.DerivePicks(wellOf(log...), byMaterial{}) }

// Neither the order in which a log is written nor where an interval is
// divided may change what it says.
func TestPicksDoNotDependOnHowALogIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := drawLog(t)
		want := bedrockOf(log)
		shuffled := rapid.Permutation(log).Draw(t, "order")
		if diff := cmp.Diff(want, bedrockOf(shuffled)); diff != "" {
			t.Fatalf("another order (-want +got):\n%s", diff)
		}
		i := rapid.IntRange(0, len(log)-1).Draw(t, "divided")
		l := log[i]
		middle := l.top + (l.bottom-l.top)/2
		divided := append(append(append([]layer{}, log[:i]...), layer{l.top, middle, l.class}, layer{middle, l.bottom, l.class}), log[i+1:]...)
		got := bedrockOf(divided)
		if diff := cmp.Diff(want.Bedrock.Depth, got.Bedrock.Depth); diff != "" {
			t.Fatalf("interval %d divided at %v (-want +got):\n%s\nwas: %s\nis: %s", i, middle, diff, want.Bedrock.Why, got.Bedrock.Why)
		}
		if diff := cmp.Diff(want.FirstRock.Depth, got.FirstRock.Depth); diff != "" {
			t.Fatalf("first rock (-want +got):\n%s", diff)
		}
	})
}

// What is never true of sound bedrock, whatever the log.
func TestPicksKeepTheirPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := drawLog(t)
		last := log[len(log)-1].bottom
		p := bedrockOf(log)
		depth := float64(p.Bedrock.Depth.Value)
		classAt := func(d float64) string {
			for _, l := range log {
				if l.top <= d && d < l.bottom {
					return l.class
				}
			}
			return ""
		}
		switch p.Bedrock.Depth.Qualifier {
		case records.Exact, records.About:
			if classAt(depth) != "rock" {
				t.Fatalf("rock begins at %v in %q", depth, classAt(depth))
			}
			rock, loose := 0.0, 0.0
			for _, l := range log {
				thick := l.bottom - l.top
				if l.top >= depth && l.class == "rock" {
					rock += thick
				}
				deep := thick < 3.2 && rock >= 15 && rock >= 10*thick
				if l.top >= depth && l.class == "soil" && thick >= 1.5 && !deep {
					loose += thick
				}
			}
			if loose > 0 {
				t.Fatalf("%v m of loose ground under the pick at %v", loose, depth)
			}
			if p.Bedrock.Depth.Qualifier == records.Exact && rock < 3 {
				t.Fatalf("exact at %v with %v m of rock", depth, rock)
			}
		case records.GreaterThan:
			if depth > last || depth <= 0 {
				t.Fatalf("more than %v in a log of %v m", depth, last)
			}
			if log[len(log)-1].class == "soil" && depth != last {
				t.Fatalf("ends in loose ground at %v, more than %v", last, depth)
			}
		case records.Between:
			if high := float64(p.Bedrock.Depth.High); high <= depth || high > last || classAt(high) != "rock" {
				t.Fatalf("between %v and %v in a log of %v m", depth, high, last)
			}
		case records.Missing:
			if log[0].class != "unknown" && log[0].class != "rock" {
				t.Fatalf("missing, though the log begins with %s", log[0].class)
			}
		default:
			t.Fatalf("qualifier %v", p.Bedrock.Depth.Qualifier)
		}
		if first, ok := p.FirstRock.Depth.Number(); ok && p.Bedrock.Depth.Qualifier == records.Exact && float64(first) > depth {
			t.Fatalf("first rock at %v below sound bedrock at %v", first, depth)
		}
	})
}
