// Package photographs fetches photographs of a real board for tests. They are not
// part of the project: they are downloaded from Debian's package opencv-doc
// (Apache-2.0 and BSD-3-Clause) when a test first needs them, and kept in the user's
// cache.
//
// They show a board of 9 by 6 inner corners with squares of 25 mm, taken with a
// camera of 640 x 480 pixels with strong distortion.
package photographs

import (
	"archive/tar"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strings"
)

const (
	debPackage = "opencv-doc"
	from       = "usr/share/doc/opencv-doc/examples/data/"
	// sum is the SHA-256 of all photographs' bytes in order. It is the same in
	// 4.6.0 of Debian 12 and in 4.10.0 of Debian 13.
	sum = "9b83acfac89a1ae00425822dac04efc4fe29548e7bdcc9dd847c1d6a89ac1a91"
)

// numbers are those in the file names; there is no number 10.
var numbers = []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14}

// Board returns the paths of the photographs. It fetches them if they are not in the
// cache, with apt-get and dpkg-deb over the network.
func Board(ctx context.Context) ([]string, error) {
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = os.TempDir()
	}
	dir := filepath.Join(cache, "ecart", "photographs-of-a-board")
	var paths []string
	for _, n := range numbers {
		paths = append(paths, filepath.Join(dir, fmt.Sprintf("left%02d.jpg", n)))
	}
	if check(paths) == nil {
		return paths, nil
	}
	if err := fetch(ctx, dir, paths); err != nil {
		return nil, fmt.Errorf("the photographs of a board are not in %q and cannot be fetched: %w; run this once with the network, or put left01.jpg to left14.jpg of Debian's %s there", dir, err, debPackage)
	}
	return paths, check(paths)
}

// check returns an error if a photograph is missing or their checksum is wrong.
func check(paths []string) error {
	h := sha256.New()
	for _, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		h.Write(data)
	}
	if got := fmt.Sprintf("%x", h.Sum(nil)); got != sum {
		return fmt.Errorf("the photographs in %q are not those meant: their sum is %s", filepath.Dir(paths[0]), got)
	}
	return nil
}

// fetch puts the photographs into dir as paths, all or none.
func fetch(ctx context.Context, dir string, paths []string) error {
	parent := filepath.Dir(dir)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	temp, err := os.MkdirTemp(parent, "fetching-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp)
	if err := run(ctx, temp, "apt-get", "download", debPackage); err != nil {
		// The package lists may be missing or old, and only root may update those of the
		// system: a private copy is updated instead.
		own := []string{"-o", "Dir::State::lists=" + filepath.Join(temp, "lists"), "-o", "Dir::Cache=" + filepath.Join(temp, "cache"),
			"-o", "APT::Sandbox::User=root"}
		for _, what := range [][]string{{"update", "-qq"}, {"download", debPackage}} {
			if err := run(ctx, temp, "apt-get", append(own, what...)...); err != nil {
				return err
			}
		}
	}
	debs, err := filepath.Glob(filepath.Join(temp, "*.deb"))
	if err != nil || len(debs) != 1 {
		return errors.New("apt-get left no package")
	}
	out := filepath.Join(temp, "out")
	if err := unpack(ctx, debs[0], out); err != nil {
		return err
	}
	err = os.Rename(out, dir)
	if !errors.Is(err, os.ErrExist) {
		return err
	}
	if check(paths) == nil { // another test was first, and may be reading them
		return nil
	}
	if err := os.RemoveAll(dir); err != nil {
		return err
	}
	return os.Rename(out, dir)
}

func run(ctx context.Context, dir, name string, args ...string) error {
	c := exec.CommandContext(ctx, name, args...)
	c.Dir = dir
	if said, err := c.CombinedOutput(); err != nil {
		return fmt.Errorf("%s %s: %w: %s", name, strings.Join(args, " "), err, strings.TrimSpace(string(said)))
	}
	return nil
}

// unpack takes the photographs, and nothing else, out of a Debian package.
func unpack(ctx context.Context, deb, out string) error {
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	c := exec.CommandContext(ctx, "dpkg-deb", "--fsys-tarfile", deb)
	pipe, err := c.StdoutPipe()
	if err != nil {
		return err
	}
	if err := c.Start(); err != nil {
		return err
	}
	err = extract(tar.NewReader(pipe), out)
	if _, drained := io.Copy(io.Discard, pipe); err == nil {
		err = drained
	}
	if waited := c.Wait(); err == nil {
		err = waited
	}
	return err
}

func extract(t *tar.Reader, out string) error {
	for {
		h, err := t.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		dir, name := path.Split(strings.TrimPrefix(h.Name, "./"))
		if dir != from || !strings.HasPrefix(name, "left") || path.Ext(name) != ".jpg" {
			continue
		}
		data, err := io.ReadAll(t)
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(out, name), data, 0o644); err != nil {
			return err
		}
	}
}
