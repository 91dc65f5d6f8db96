package take

import (
	"encoding/binary"
	"errors"
	"image"
	"io"
	"strings"

	"ecart/vision/internal/av"
	"ecart/vision/internal/hevc"
)

// heicPicture is the main picture of a HEIC file as a grid of tiles (ISO/IEC 23008-12 6.6.2.3). A picture
// that is not divided is a grid of one tile.
type heicPicture struct {
	width, height       int
	tileWide, tileHigh  int // size of a tile, pixels
	columns, rows       int
	tiles               [][][2]int64 // for each tile: offset and length of its parts in the file, bytes
	config              []byte       // hvcC record, the same for all tiles
	orientation         av.Orientation
	samples, sampleSize int64 // twice the number of samples per pixel; bytes per sample
	longest             int64 // coded data of the longest tile, bytes
}

// errOtherHEIC says that a HEIC file is not of the kind that phones write: its main picture is an overlay
// of others, a crop of a larger one, transparent, or not coded in HEVC.
var errOtherHEIC = errors.New("a HEIC of another kind")

// Limits on one item. Phones write fewer than ten properties and a configuration of about 150 bytes. The
// limits bound the work, since a grid may name the same item 65,536 times.
const (
	mostProperties = 100
	mostConfig     = 4096
)

// fields reads consecutive big-endian numbers. Past the end of data it returns 0 and sets short.
type fields struct {
	data  []byte
	short bool
}

func (f *fields) next(bytes int) (v int64) {
	if bytes > len(f.data) {
		f.data, f.short = nil, true
		return 0
	}
	for _, b := range f.data[:bytes] {
		v = v<<8 | int64(b)
	}
	f.data = f.data[bytes:]
	return v
}

// heicItems holds the tables of a meta box. Maps are keyed by item number.
type heicItems struct {
	primary      int64
	kinds        map[int64]string
	places       map[int64][][2]int64 // offset and length
	inside       map[int64]bool       // places are in the idat box
	idat         []byte
	parts        map[int64][]int64 // tiles of a grid
	alpha        bool
	properties   []property
	propertiesOf map[int64][]int // indices of an item's properties in properties
}

type property struct {
	kind string
	body []byte
}

// readHEICPicture finds the main picture.
func readHEICPicture(t *heicItems, data io.ReaderAt) (*heicPicture, error) {
	p := &heicPicture{columns: 1, rows: 1, orientation: 1}
	ids := []int64{t.primary}
	switch t.kinds[t.primary] {
	case "hvc1":
	case "grid":
		ids = t.parts[t.primary]
		if err := p.readGrid(t, data); err != nil {
			return nil, err
		}
	default:
		return nil, errOtherHEIC
	}
	if t.alpha || len(ids) != p.columns*p.rows || !p.turn(t) {
		return nil, errOtherHEIC
	}
	for _, id := range ids {
		if t.kinds[id] != "hvc1" || t.inside[id] || len(t.places[id]) == 0 || len(t.propertiesOf[id]) > mostProperties {
			return nil, errOtherHEIC
		}
		p.tiles = append(p.tiles, t.places[id])
		var config []byte
		w, h := 0, 0
		for _, i := range t.propertiesOf[id] {
			switch q := t.properties[i]; {
			case q.kind == "hvcC":
				config = q.body
			case q.kind == "ispe" && len(q.body) >= 12:
				w, h = int(binary.BigEndian.Uint32(q.body[4:])), int(binary.BigEndian.Uint32(q.body[8:]))
			}
		}
		if len(config) < 23 || len(config) > mostConfig || p.config != nil && string(p.config) != string(config) || p.tileWide != 0 && (w != p.tileWide || h != p.tileHigh) {
			return nil, errOtherHEIC
		}
		p.config, p.tileWide, p.tileHigh = config, w, h
	}
	if len(ids) == 1 && t.kinds[t.primary] == "hvc1" {
		p.width, p.height = p.tileWide, p.tileHigh
	}
	if min(p.width, p.height, p.tileWide, p.tileHigh) <= 0 || max(p.tileWide, p.tileHigh) > maxSide ||
		p.columns*p.tileWide < p.width || p.rows*p.tileHigh < p.height || // the tiles do not cover the picture, or there are more than needed
		(p.columns-1)*p.tileWide >= p.width || (p.rows-1)*p.tileHigh >= p.height {
		return nil, errOtherHEIC
	}
	for _, places := range p.tiles {
		n := int64(0)
		for _, at := range places {
			if at[1] < 0 || at[1] > maxStill {
				return nil, errOtherHEIC
			}
			n += at[1]
		}
		if p.longest = max(p.longest, n); n > int64(8*p.tileWide*p.tileHigh+1<<16) { // more than the uncompressed samples would take
			return nil, errOtherHEIC
		}
	}
	p.samples = []int64{2, 3, 4, 6}[p.config[16]&3] // chroma_format_idc
	p.sampleSize = 1
	if p.config[17]&7 > 0 { // bit_depth_luma_minus8
		p.sampleSize = 2
	}
	return p, nil
}

// readGrid reads the descriptor of a grid (6.6.2.3.2).
func (p *heicPicture) readGrid(t *heicItems, data io.ReaderAt) error {
	places := t.places[t.primary]
	if len(places) != 1 || places[0][1] < 8 || places[0][1] > 12 {
		return errOtherHEIC
	}
	buf := make([]byte, places[0][1])
	if t.inside[t.primary] {
		if at := places[0][0]; at < 0 || at > int64(len(t.idat)) || copy(buf, t.idat[at:]) < len(buf) {
			return io.ErrUnexpectedEOF
		}
	} else if _, err := data.ReadAt(buf, places[0][0]); err != nil {
		return err
	}
	size := 2
	if buf[1]&1 != 0 {
		size = 4
	}
	f := fields{data: buf[2:]}
	p.rows, p.columns = int(f.next(1))+1, int(f.next(1))+1
	p.width, p.height = int(f.next(size)), int(f.next(size))
	if f.short {
		return io.ErrUnexpectedEOF
	}
	return nil
}

// turn sets the orientation of the main picture from its rotations and mirrorings, applied in the order of
// its properties. It reports false if a property asks for any other change, such as a crop.
func (p *heicPicture) turn(t *heicItems) bool {
	m := [4]int32{1, 0, 0, 1} // x = m0 p + m1 q, y = m2 p + m3 q
	for _, i := range t.propertiesOf[t.primary] {
		q := t.properties[i]
		switch q.kind {
		case "irot": // quarter turns anticlockwise
			if len(q.body) < 1 {
				return false
			}
			for range q.body[0] & 3 {
				m = [4]int32{m[2], m[3], -m[0], -m[1]}
			}
		case "imir":
			if len(q.body) < 1 {
				return false
			}
			if q.body[0]&1 == 1 { // left and right are exchanged
				m[0], m[1] = -m[0], -m[1]
			} else {
				m[2], m[3] = -m[2], -m[3]
			}
		case "ispe", "hvcC", "colr", "pixi", "pasp":
		default:
			return false
		}
	}
	p.orientation, _ = av.FromMatrix([9]int32{m[0], m[2], 0, m[1], m[3]})
	return true
}

// memory estimates what decoding takes, in bytes: the whole picture, one tile with the decoder's tables for
// it, 20 bytes for each 16 pixels (TABLES and MOTION in av/memory.c), and the tile's coded data twice.
func (p *heicPicture) memory() int64 {
	tile := int64(p.tileWide) * int64(p.tileHigh)
	return p.samples*p.sampleSize*(int64(p.width)*int64(p.height)+tile)/2 + tile*20/16 + 2*p.longest
}

// codingBlock is the side of the largest coding unit of HEVC, in pixels. A tile may be padded to a multiple of it.
const codingBlock = 64

// decode decodes the tiles, each of which must be whole, and assembles the picture in its stored orientation.
func (p *heicPicture) decode(data io.ReaderAt, size int64) (*av.Picture, error) {
	d, err := av.OpenCoded(p.config, int64(p.tileWide+codingBlock)*int64(p.tileHigh+codingBlock))
	if err != nil {
		return nil, err
	}
	defer d.Close()
	var out *av.Picture
	judge, verdicts := newJudge(p.config), [hevc.Damaged + 1]int{}
	for i, places := range p.tiles {
		var coded []byte
		for _, at := range places {
			if at[0] < 0 || at[1] < 0 || at[1] > size || at[0] > size-at[1] || int64(len(coded))+at[1] > size {
				return nil, io.ErrUnexpectedEOF
			}
			n := len(coded)
			coded = append(coded, make([]byte, at[1])...)
			if _, err := data.ReadAt(coded[n:], at[0]); err != nil {
				return nil, err
			}
		}
		verdicts[judge.check(coded)]++
		tile, err := d.Decode(coded)
		if err != nil {
			return nil, err
		}
		if tile.Width != p.tileWide || tile.Height != p.tileHigh {
			tile.Release()
			return nil, errors.New("a part of the picture has another size than the file says")
		}
		if out == nil {
			out = tile.Like(p.width, p.height)
		}
		fits := out.Put(tile, image.Pt(i%p.columns*p.tileWide, i/p.columns*p.tileHigh))
		tile.Release()
		if !fits {
			return nil, errors.New("the parts of the picture are of different kinds")
		}
	}
	if verdicts[hevc.Whole] > 0 && verdicts[hevc.Damaged] > 0 {
		return nil, errors.New("a part of the picture is damaged")
	}
	return out, nil
}

// readHEICItems reads the tables. Entries that are cut short are left out.
func readHEICItems(data []byte) *heicItems {
	t := &heicItems{kinds: map[int64]string{}, places: map[int64][][2]int64{}, inside: map[int64]bool{}, parts: map[int64][]int64{}, propertiesOf: map[int64][]int{}}
	for kind, meta := range boxes(data) {
		if kind != "meta" || len(meta) < 4 {
			continue
		}
		for kind, body := range boxes(meta[4:]) {
			f := &fields{data: body}
			version := 0
			if kind != "idat" && kind != "iprp" {
				version = int(f.next(1))
				f.next(3)
			}
			wide := 2 // bytes of an item's number
			if version > 0 {
				wide = 4
			}
			switch kind {
			case "pitm":
				t.primary = f.next(wide)
			case "idat":
				t.idat = body
			case "iinf":
				f.next(wide)
				for kind, entry := range boxes(f.data) {
					e := fields{data: entry}
					v := e.next(1)
					e.next(3)
					if kind != "infe" || v < 2 {
						continue
					}
					id := e.next(int(2 * (v - 1)))
					e.next(2)
					if len(e.data) >= 4 {
						t.kinds[id] = string(e.data[:4])
					}
				}
			case "iref":
				for kind, ref := range boxes(f.data) {
					e := fields{data: ref}
					from := e.next(wide)
					n := e.next(2)
					for ; n > 0 && !e.short && kind == "dimg"; n-- {
						t.parts[from] = append(t.parts[from], e.next(wide))
					}
				}
			case "iloc":
				t.readPlaces(f, version)
			case "iprp":
				t.readProperties(body)
			}
		}
	}
	return t
}

// readPlaces reads an iloc box (ISO/IEC 14496-12 8.11.3).
func (t *heicItems) readPlaces(f *fields, version int) {
	sizes, more := f.next(1), f.next(1)
	offset, length, base, index := int(sizes>>4), int(sizes&15), int(more>>4), int(more&15)
	if length == 0 { // each item would be the whole file, and any number of them fits into the table
		return
	}
	wide := 2
	if version == 2 {
		wide = 4
	}
	if version == 0 {
		index = 0
	}
	for n := f.next(wide); n > 0 && !f.short; n-- {
		id, method := f.next(wide), int64(0)
		if version > 0 {
			method = f.next(2) & 15
		}
		elsewhere := f.next(2) != 0 || method > 1
		start := f.next(base)
		var places [][2]int64
		for m := f.next(2); m > 0 && !f.short; m-- {
			f.next(index)
			places = append(places, [2]int64{start + f.next(offset), f.next(length)})
		}
		if !f.short && !elsewhere {
			t.places[id], t.inside[id] = places, method == 1
		}
	}
}

// readProperties reads an iprp box: the properties, and which item has which.
func (t *heicItems) readProperties(iprp []byte) {
	for kind, body := range boxes(iprp) {
		switch kind {
		case "ipco":
			for kind, body := range boxes(body) {
				t.properties = append(t.properties, property{kind, body})
				t.alpha = t.alpha || kind == "auxC" && strings.Contains(string(body), "alpha")
			}
		case "ipma":
			f := &fields{data: body}
			version, flags := f.next(1), f.next(3)
			for n := f.next(4); n > 0 && !f.short; n-- {
				id := f.next(2 + 2*int(min(version, 1)))
				for m := f.next(1); m > 0 && !f.short; m-- {
					i := 0
					if flags&1 != 0 {
						i = int(f.next(2)&0x7fff) - 1
					} else {
						i = int(f.next(1)&0x7f) - 1
					}
					if i >= 0 {
						t.propertiesOf[id] = append(t.propertiesOf[id], i)
					}
				}
			}
		}
	}
	for id, indices := range t.propertiesOf { // keep only indices of existing properties
		var existing []int
		for _, i := range indices {
			if i < len(t.properties) {
				existing = append(existing, i)
			}
		}
		t.propertiesOf[id] = existing
	}
}
