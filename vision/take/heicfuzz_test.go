package take

import (
	"bytes"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// FuzzHEICItems: no tables of a HEIC file crash the parser, a picture that it finds is covered by its tiles
// once, and decoding a small one makes a picture of the size that was said or is an error.
func FuzzHEICItems(f *testing.F) {
	var files [2][]byte // whole ones, whose own tables are hidden: those that are drawn come after them
	for i, data := range [][]byte{
		heicFile(f, heicOptions{turn: 1, mirror: 2, exif: exifBytes(8), limits: true}),
		heicGrid(f, 1290, 700, box("imir", []byte{1}), box("irot", []byte{3})),
	} {
		whole := io.NewSectionReader(bytes.NewReader(data), 0, int64(len(data)))
		p, err := readHEICPicture(readHEICItems(data), whole)
		require.NoError(f, err)
		require.Len(f, p.tiles, []int{1, 6}[i])
		at := bytes.Index(data, []byte("meta"))
		f.Add(i == 1, bytes.Clone(data[at-4:bytes.Index(data, []byte("mdat"))-4]))
		copy(data[at:], "free")
		files[i] = data
	}
	f.Fuzz(func(t *testing.T, grid bool, meta []byte) {
		data := files[0]
		if grid {
			data = files[1]
		}
		data = append(bytes.Clone(data), meta...)
		file := io.NewSectionReader(bytes.NewReader(data), 0, int64(len(data)))
		p, err := readHEICPicture(readHEICItems(data), file)
		if err != nil {
			return
		}
		require.Len(t, p.tiles, p.columns*p.rows)
		assert.Contains(t, []int{1, 2, 3, 4, 5, 6, 7, 8}, int(p.orientation))
		for _, side := range [][3]int{{p.width, p.tileWide, p.columns}, {p.height, p.tileHigh, p.rows}} {
			assert.Positive(t, side[0])
			assert.Equal(t, side[2], (side[0]+side[1]-1)/side[1], "%v", side)
		}
		for _, places := range p.tiles {
			require.NotEmpty(t, places)
		}
		assert.Positive(t, p.memory())
		const small = 1 << 17 // px
		if p.tileWide*p.tileHigh*len(p.tiles) > small {
			return
		}
		got, err := p.decode(file, file.Size())
		if err != nil {
			return
		}
		defer got.Release()
		assert.Equal(t, [2]int{p.width, p.height}, [2]int{got.Width, got.Height})
	})
}
