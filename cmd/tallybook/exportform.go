package main

import (
	"archive/zip"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tallybook/records"
	"tallybook/records/exchange"
	"tallybook/records/sqlite"
)

// exportForm is the form in which wells are written.
type exportForm string

const (
	formGeoJSON exportForm = "geojson"
	formLines   exportForm = "geojsonl" // one feature a line
	formTable   exportForm = "csv"      // one flat table
	formKML     exportForm = "kml"
	formPackage exportForm = "gpkg"
	formSet     exportForm = "csv set" // a table of wells and one for each list
)

// form tells the form by --format and the ending of --out.
func (cmd *exportCommand) form() (exportForm, error) {
	ext := strings.ToLower(filepath.Ext(cmd.Out))
	switch cmd.Format {
	case "gpkg":
		return cmd.packageForm()
	case "geojson", "geojsonl", "kml":
		return exportForm(cmd.Format), nil
	case "csv":
		if cmd.toScreen() || ext == ".csv" {
			return formTable, nil
		}
		if ext == "" || ext == ".zip" || isFolder(cmd.Out) || strings.HasSuffix(cmd.Out, "/") {
			return formSet, nil
		}
		return "", records.Errorf(records.Invalid, "--out %s: csv goes to FILE.csv as one table, or to a folder or FILE.zip as a set of tables", cmd.Out)
	}
	switch ext {
	case ".csv":
		return formTable, nil
	case ".ndjson", ".geojsonl", ".jsonl", ".geojsons":
		return formLines, nil
	case ".kml":
		return formKML, nil
	case ".gpkg":
		return cmd.packageForm()
	}
	return formGeoJSON, nil
}

func (cmd *exportCommand) packageForm() (exportForm, error) {
	if st, err := os.Stat(cmd.Out); cmd.toScreen() || err == nil && !st.Mode().IsRegular() {
		return "", records.Errorf(records.Invalid, "a GeoPackage is a file: name it with --out FILE.gpkg")
	}
	return formPackage, nil
}

// writePackage writes a GeoPackage beside its place and moves it there when it
// is whole.
func (cmd *exportCommand) writePackage(mode fs.FileMode, fill func(wellWriter) error) error {
	d, err := newDraft(cmd.Out, mode)
	if err != nil {
		return err
	}
	// What writes it opens the file by its name, as it is: empty.
	sink, err := sqlite.NewGeoPackage(d.Name())
	if err != nil {
		return errors.Join(err, d.drop())
	}
	out, err := exchange.NewTables(sink, cmd.options(false))
	if err == nil {
		err = fill(out)
	}
	if err != nil {
		return errors.Join(err, sink.Drop(), d.drop())
	}
	return d.keep()
}

func isFolder(path string) bool {
	st, err := os.Stat(path)
	return err == nil && st.IsDir()
}

// writer begins a document on w.
func (cmd *exportCommand) writer(form exportForm, w io.Writer) (wellWriter, error) {
	o := cmd.options(form == formLines)
	switch form {
	case formTable:
		return exchange.NewCSV(w, nil, o)
	case formKML:
		return exchange.NewKML(w, o)
	}
	return exchange.NewGeoJSON(w, o), nil
}

// writeTables writes a set of tables into a folder, or a ZIP archive of them,
// as a whole or not at all. The folder must be new or empty: tables of an
// earlier set would be taken for those of this one.
func writeTables(out string, mode fs.FileMode, o exchange.Options, fill func(*exchange.CSVSet) error) (err error) {
	out = filepath.Clean(out)
	zipped := strings.EqualFold(filepath.Ext(out), ".zip") && !isFolder(out)
	if !zipped {
		if entries, err := os.ReadDir(out); err == nil && len(entries) > 0 {
			return records.Errorf(records.Invalid, "--out %s: the folder is not empty; name a new one", out)
		}
	}
	aside, err := os.MkdirTemp(filepath.Dir(out), ".tallybook-*")
	if err != nil {
		return (&draft{path: out}).failed(err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(aside)) }()
	var names []string
	set, err := exchange.NewCSVSet(func(name string) (io.WriteCloser, error) {
		names = append(names, name)
		return os.OpenFile(filepath.Join(aside, name), os.O_CREATE|os.O_EXCL|os.O_WRONLY, mode)
	}, o)
	if err != nil {
		return err
	}
	if err := fill(set); err != nil {
		return errors.Join(err, set.Close())
	}
	if zipped {
		return writeFile(out, mode, func(w io.Writer) error { return zipFiles(w, aside, names) })
	}
	if err := os.Chmod(aside, 0o700|mode|(mode&0o044)>>2); err != nil {
		return (&draft{path: out}).failed(err)
	}
	if err := os.Rename(aside, out); err != nil {
		return (&draft{path: out}).failed(err)
	}
	return nil
}

// zipFiles packs files of a folder, one after another.
func zipFiles(w io.Writer, folder string, names []string) error {
	z := zip.NewWriter(w)
	for _, name := range names {
		if err := exchange.PackFile(z, name, filepath.Join(folder, name)); err != nil {
			return err
		}
	}
	return z.Close()
}
