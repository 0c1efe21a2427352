package exchange

import (
	"archive/zip"
	"io"
	"os"
)

// PackFile puts the file at path into an archive under a name.
func PackFile(z *zip.Writer, name, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	to, err := z.Create(name)
	if err != nil {
		return err
	}
	_, err = io.Copy(to, f)
	return err
}
