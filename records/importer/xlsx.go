package importer

import (
	"archive/zip"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

	"tallybook/records"
)

// workbook is a spreadsheet of the kind that ECMA-376 describes (.xlsx), read
// as a stream: what is held is its strings and styles, never a whole sheet.
type workbook struct {
	name    string
	files   map[string]*zip.File
	sheets  []bookSheet
	strings sharedStrings
	styles  []cellStyle
	from    epoch
}

// bookSheet is one sheet as the workbook lists it.
type bookSheet struct {
	name   string
	part   string // the file of the archive that holds it
	hidden bool
}

// What a workbook may be made of at most. The limits are ours, no source: they
// leave room for a million rows, and none for a file made to fill a memory.
const (
	maxBookParts   = 10000
	maxBookBytes   = 4 << 30   // unpacked, together
	maxStringBytes = 256 << 20 // of shared strings
	maxPartBytes   = 64 << 20  // of the list of sheets, or of the styles
	bombBytes      = 64 << 20  // a part may be packed well as long as it is smaller
	bombRatio      = 300       // how well a larger one may be packed; sheets reach 10 to 50
	maxSheets      = 200
)

// zipSign begins a ZIP archive.
const zipSign = "PK\x03\x04"

// openWorkbook opens a workbook. What is an archive of another kind is said
// in words.
func openWorkbook(name string, r io.ReaderAt, size int64) (*workbook, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, records.WrapError(records.Invalid, err, "%s is a ZIP archive that is broken off or damaged, not GeoJSON or CSV and no workbook (.xlsx); fetch or save it again", name)
	}
	b := &workbook{name: name, files: make(map[string]*zip.File)}
	if err := b.takeParts(z.File); err != nil {
		return nil, err
	}
	for _, read := range []func() error{b.readBook, b.readStyles, b.readStrings} {
		if err := read(); err != nil {
			return nil, err
		}
	}
	return b, nil
}

// takeParts lists the archive's files and refuses what is no workbook, holds
// programs, or unpacks to more than can be meant.
func (b *workbook) takeParts(files []*zip.File) error {
	if len(files) > maxBookParts {
		return records.Errorf(records.TooLarge, "%s is made of %d parts, more than %d; save the sheet as CSV", b.name, len(files), maxBookParts)
	}
	total := uint64(0)
	for _, f := range files {
		name := strings.ToLower(strings.TrimPrefix(strings.ReplaceAll(f.Name, `\`, "/"), "/"))
		total += f.UncompressedSize64
		if f.UncompressedSize64 > bombBytes && f.UncompressedSize64/max(f.CompressedSize64, 1) > bombRatio || total > maxBookBytes {
			return records.Errorf(records.TooLarge, "%s unpacks to far more than its size (%s alone to %d bytes from %d); it is not read. If it is what was meant, save the sheet as CSV",
				b.name, clip(f.Name), f.UncompressedSize64, f.CompressedSize64)
		}
		if path.Base(name) == "vbaproject.bin" || strings.HasPrefix(name, "xl/macrosheets/") {
			return records.Errorf(records.Invalid, "%s holds macros, which are programs; save it as a workbook without macros (.xlsx), or as CSV", b.name)
		}
		if _, twice := b.files[name]; twice {
			return records.Errorf(records.Invalid, "%s holds %q twice and cannot be trusted; save it again", b.name, clip(f.Name))
		}
		b.files[name] = f
	}
	if b.files["[content_types].xml"] != nil && b.files["xl/workbook.bin"] == nil {
		return nil
	}
	kind, mend := otherArchive(b.files)
	return records.Errorf(records.Invalid, "%s is %s; %s", b.name, kind, mend)
}

// otherArchive names what an archive is that is no workbook.
func otherArchive(files map[string]*zip.File) (kind, mend string) {
	for name := range files {
		switch path.Ext(name) {
		case ".kml":
			return "a KMZ file", "convert it to GeoJSON first (ogr2ogr)"
		case ".shp":
			return "a zipped shapefile", "unpack it, and convert it (ogr2ogr -f GeoJSONSeq wells.geojsonl FILE)"
		case ".gdbtable":
			return "a zipped geodatabase", "unpack it, and convert it (ogr2ogr -f GeoJSONSeq wells.geojsonl FILE)"
		}
	}
	switch {
	case files["xl/workbook.bin"] != nil:
		return "a workbook in a binary form", "save it as a workbook (.xlsx), or as CSV"
	case files["content.xml"] != nil:
		return "an OpenDocument file", "save it as a workbook (.xlsx), or as CSV"
	case files["word/document.xml"] != nil:
		return "a text document", "save its table as CSV"
	}
	return "a ZIP archive", "unpack it, and take in what it holds"
}

// errPartMissing says that a part is not there.
var errPartMissing = errors.New("part is missing")

// openPart opens a part for reading, at most the given number of bytes of it.
func (b *workbook) openPart(name string, most int64) (io.ReadCloser, error) {
	f := b.files[strings.ToLower(strings.TrimPrefix(name, "/"))]
	if f == nil {
		return nil, fmt.Errorf("%s: %w", name, errPartMissing)
	}
	if f.UncompressedSize64 > uint64(most) {
		return nil, records.Errorf(records.TooLarge, "%s: its part %s is %d bytes long, more than %d; save the sheet as CSV", b.name, clip(f.Name), f.UncompressedSize64, most)
	}
	r, err := f.Open()
	if err != nil {
		return nil, b.broken(f.Name, err)
	}
	// No more than the archive says that there is, whatever is packed.
	limited := io.LimitReader(r, min(most, int64(f.UncompressedSize64)+1))
	return struct {
		io.Reader
		io.Closer
	}{&markupGuard{r: limited, name: b.name}, r}, nil
}

// broken says that a part cannot be read.
func (b *workbook) broken(part string, err error) error {
	var known *records.Error
	if errors.As(err, &known) {
		return err
	}
	return records.WrapError(records.Invalid, err, "%s is damaged: its part %s cannot be read; save it again, or as CSV", b.name, clip(part))
}

// sheet finds a sheet by its name.
func (b *workbook) sheet(name string) (bookSheet, error) {
	var names []string
	for _, s := range b.sheets {
		if s.name == name || strings.EqualFold(s.name, name) {
			return s, nil
		}
		names = append(names, s.name)
	}
	return bookSheet{}, unknown("sheet", name, names)
}
