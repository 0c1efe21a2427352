package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestPlatePrint(t *testing.T) {
	db := county(t, 12)
	dir := t.TempDir()
	out := func(name string) string { return filepath.Join(dir, name) }
	must(t, "plate", "print", "--db", db, "--out", out("one.svg"), "--size", "100x70", "W-7")
	if svg := read(t, out("one.svg")); !strings.Contains(svg, `width="100mm" height="70mm"`) || !strings.Contains(svg, ">W-7<") || !strings.Contains(svg, ">67 m<") && !strings.Contains(svg, " ft<") {
		t.Errorf("the drawing: %.300s", svg)
	}
	must(t, "plate", "print", "--db", db, "--out", out("lines.svg"), "--for", "engraver", "W-7")
	if svg := read(t, out("lines.svg")); strings.Contains(svg, "<text") || strings.Contains(svg, `fill="#`) {
		t.Error("an engraver is given more than lines")
	}
	must(t, "plate", "print", "--db", db, "--out", out("each.pdf"), "W-1", "W-2", "W-3")
	must(t, "plate", "print", "--db", db, "--out", out("sheet.pdf"), "--paper", "a4", "W-1", "W-2", "W-3")
	for name, pages := range map[string]string{"each.pdf": "/Count 3", "sheet.pdf": "/Count 1"} {
		if pdf := read(t, out(name)); !strings.HasPrefix(pdf, "%PDF-") || !strings.Contains(pdf, pages) {
			t.Errorf("%s has not the pages %s", name, pages)
		}
	}
	for _, c := range []struct {
		code int
		says string
		args []string
	}{
		{exitUsage, "no plate and of no record", []string{"--out", out("x.pdf"), "W-1", "NOT-THERE"}},
		{exitUsage, ".pdf or .svg", []string{"--out", out("x.png"), "W-1"}},
		{exitUsage, "such as 80x50", []string{"--out", out("x.pdf"), "--size", "large", "W-1"}},
		{exitUsage, "from 15 to 400", []string{"--out", out("x.pdf"), "--size", "5x5", "W-1"}},
		{exitUsage, "one page", []string{"--out", out("x.svg"), "W-1", "W-2"}},
		{exitUsage, "cannot stand", []string{"--out", out("x.pdf"), "--size", "22x20", "W-1"}},
	} {
		r := do(t, append([]string{"plate", "print", "--db", db}, c.args...)...)
		if r.code != c.code || !strings.Contains(r.err, c.says) {
			t.Errorf("%v: %d, %s", c.args, r.code, r.err)
		}
	}
	if _, err := os.Stat(out("x.pdf")); err == nil {
		t.Error("half of what was asked for was written")
	}
}
