//go:build judges

package importer_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tallybook/records/importer"
)

// convert has LibreOffice (Debian: libreoffice-calc-nogui) write a workbook.
func convert(t *testing.T, path, filter string) string {
	t.Helper()
	dir := t.TempDir()
	args := []string{"-env:UserInstallation=file://" + filepath.Join(dir, "profile"), "--headless", "--convert-to", "xlsx", "--outdir", dir}
	if filter != "" {
		args = append(args, "--infilter="+filter)
	}
	out, err := exec.CommandContext(t.Context(), "soffice", append(args, path)...).CombinedOutput()
	if err != nil {
		t.Fatalf("LibreOffice (.ci/need installs it): %v\n%s", err, out)
	}
	made := filepath.Join(dir, strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))+".xlsx")
	if _, err := os.Stat(made); err != nil {
		t.Fatalf("LibreOffice wrote nothing: %s", out)
	}
	return made
}

// A workbook that LibreOffice made of a table is read as the table is.
func TestOfficeWritesTable(t *testing.T) {
	path := write(t, "w.csv", flatText(","))
	want := flatRecords(t, path)
	// Column 5 is taken as text: LibreOffice itself reads 50+ as the number 50.
	got := flatRecords(t, convert(t, path, "CSV:44,34,76,1,5/2"))
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("the workbook differs from its table:\n%s", diff)
	}
}

// A workbook of four sheets that LibreOffice wrote is read as the one that a
// library wrote: dates, numbers and texts as typed, and a formula's value.
func TestOfficeWritesSheets(t *testing.T) {
	sheets := township()
	theirs := convert(t, flatDocument(t, sheets), "")
	read := func(path string) (out []string) {
		l, err := importer.LookAt(path, importer.Options{})
		if err != nil {
			t.Fatal(err)
		}
		rows, _ := openAll(t, path, importer.Options{Mapping: importer.Guess(l)})
		for i := range rows {
			line := fmt.Sprintf("%s %d %s", rows[i].Sheet, rows[i].Line, told(&rows[i]))
			if rows[i].Well != nil {
				line += properties(rows[i].Well)
			}
			out = append(out, line)
		}
		return out
	}
	want := read(book(t, sheets, townshipSheets...))
	if diff := cmp.Diff(want, read(theirs)); diff != "" {
		t.Errorf("LibreOffice's workbook differs (-library +LibreOffice):\n%s", diff)
	}
}

// flatDocument writes sheets as a flat OpenDocument file (OASIS OpenDocument
// 1.2 part 1, section 9), for LibreOffice to make a workbook of. The number
// 305 is written as a formula.
func flatDocument(t *testing.T, sheets map[string][][]any) string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?><office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0" xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2" office:version="1.2" office:mimetype="application/vnd.oasis.opendocument.spreadsheet"><office:automatic-styles><number:date-style style:name="D"><number:month/><number:text>/</number:text><number:day/><number:text>/</number:text><number:year number:style="long"/></number:date-style><style:style style:name="d" style:family="table-cell" style:data-style-name="D"/></office:automatic-styles><office:body><office:spreadsheet>`)
	escape := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;").Replace
	for _, name := range townshipSheets {
		fmt.Fprintf(&b, `<table:table table:name="%s">`, escape(name))
		for _, cells := range sheets[name] {
			b.WriteString(`<table:table-row>`)
			for _, v := range cells {
				switch v := v.(type) {
				case nil:
					b.WriteString(`<table:table-cell/>`)
				case time.Time:
					fmt.Fprintf(&b, `<table:table-cell table:style-name="d" office:value-type="date" office:date-value="%s"/>`, v.Format("2006-01-02"))
				case string:
					fmt.Fprintf(&b, `<table:table-cell office:value-type="string"><text:p>%s</text:p></table:table-cell>`, escape(v))
				default:
					formula := ""
					if v == 305 {
						formula = ` table:formula="of:=300+5"`
					}
					fmt.Fprintf(&b, `<table:table-cell office:value-type="float" office:value="%v"%s/>`, v, formula)
				}
			}
			b.WriteString(`</table:table-row>`)
		}
		b.WriteString(`</table:table>`)
	}
	b.WriteString(`</office:spreadsheet></office:body></office:document>`)
	return write(t, "township.fods", b.String())
}
