package strict

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"ecart/cmd/internal/text"
)

// Into decodes a JSON tree into the struct that v points to.
func (n *Node) Into(v any, o Options) error { return n.decode(v, "json", o) }

// decode decodes the tree into the struct that v points to, by the tags called name ("json"
// or "yaml"). A key with omitempty or strict:"optional" may be missing. A pointer, slice
// or map without omitempty may be null, since encoding/json writes nil that way.
func (n *Node) decode(v any, name string, o Options) error {
	d := decoder{name, o}
	return d.into(n, reflect.ValueOf(v).Elem(), nil, false)
}

type decoder struct {
	tag string
	o   Options
}

// path lists the keys that lead to a value.
type path []string

func (p path) bad(at Place, do, format string, a ...any) error {
	return &Error{Line: at.Line, Where: strings.Join(p, ", "), What: fmt.Sprintf(format, a...), Do: do}
}

func (p path) and(key string) path { return append(slices.Clone(p), Clip(key)) }

// item is the path of entry i of the list at p, counted from 1.
func (p path) item(i int) path {
	if len(p) == 0 {
		return path{fmt.Sprintf("entry %d", i+1)}
	}
	out := slices.Clone(p)
	out[len(out)-1] += fmt.Sprintf(" %d", i+1)
	return out
}

func (p path) want(n *Node, kind Kind) error {
	do := map[Kind]string{
		Bool: "write true or false, without quotes", Number: "write a plain number such as 12.5, without quotes", Text: "write it in quotes",
		List: "write it as [..., ...]", Table: "write it as keys with their values",
	}[kind]
	return p.bad(n.At, do, "%s belongs here, and %s is written", kind, n.Kind)
}

func (p path) unknown(f Field, keys []string) error {
	do := "take it out; known are " + strings.Join(keys, ", ")
	if near := text.Nearest(strings.ToLower(Clip(f.Key)), keys); near != "" {
		do = fmt.Sprintf("did you mean %q? known are %s", near, strings.Join(keys, ", "))
	}
	return p.bad(f.At, do, "the key %q is not known", Clip(f.Key))
}

var rawMessage = reflect.TypeFor[json.RawMessage]()

// into decodes n into v. If null is true, a pointer, slice or map may be null.
func (d *decoder) into(n *Node, v reflect.Value, p path, null bool) error {
	if v.Type() == rawMessage {
		if n.raw == nil {
			return p.want(n, Table)
		}
		v.SetBytes(slices.Clone(n.raw))
		return nil
	}
	switch v.Kind() {
	case reflect.Struct, reflect.Map:
		if n.Kind == Null && d.o.Partial && d.tag == "yaml" {
			return nil // a key with nothing under it
		}
	}
	switch v.Kind() {
	case reflect.Pointer, reflect.Slice, reflect.Map:
		if n.Kind == Null && null {
			v.SetZero()
			return nil
		}
	}
	switch v.Kind() {
	case reflect.Pointer:
		to := reflect.New(v.Type().Elem())
		if err := d.into(n, to.Elem(), p, false); err != nil {
			return err
		}
		v.Set(to)
	case reflect.Struct:
		return d.table(n, v, p)
	case reflect.Map:
		return d.mapping(n, v, p)
	case reflect.Slice, reflect.Array:
		return d.list(n, v, p)
	case reflect.String:
		if n.Kind != Text && !(d.tag == "yaml" && (n.Kind == Number || n.Kind == Bool)) {
			return p.want(n, Text)
		}
		v.SetString(n.Text)
	case reflect.Bool:
		b, err := strconv.ParseBool(n.Text)
		if n.Kind != Bool || err != nil {
			return p.want(n, Bool)
		}
		v.SetBool(b)
	default:
		return d.number(n, v, p)
	}
	return nil
}

func (d *decoder) number(n *Node, v reflect.Value, p path) error {
	if n.Kind != Number {
		return p.want(n, Number)
	}
	const whole = "write a whole number such as 12"
	switch {
	case v.CanFloat():
		f, err := strconv.ParseFloat(n.Text, 64)
		if err != nil || math.IsInf(f, 0) || math.IsNaN(f) {
			return p.bad(n.At, "write a plain number such as 12.5", "the number %s is too large or is none", Clip(n.Text))
		}
		v.SetFloat(f)
	case v.CanInt():
		i, err := strconv.ParseInt(n.Text, 10, v.Type().Bits())
		if err != nil {
			return p.bad(n.At, whole, "%s is no whole number, or is too large", Clip(n.Text))
		}
		v.SetInt(i)
	case v.CanUint():
		i, err := strconv.ParseUint(n.Text, 10, v.Type().Bits())
		if err != nil {
			return p.bad(n.At, whole, "%s is no whole number from 0 up, or is too large", Clip(n.Text))
		}
		v.SetUint(i)
	default:
		panic("strict: no value goes into " + v.Type().String())
	}
	return nil
}

func (d *decoder) list(n *Node, v reflect.Value, p path) error {
	if n.Kind != List {
		return p.want(n, List)
	}
	if v.Kind() == reflect.Array {
		if len(n.Items) != v.Len() {
			return p.bad(n.At, fmt.Sprintf("write %d, or leave the key out where it may be left out", v.Len()), "%d entries belong here, and there are %d", v.Len(), len(n.Items))
		}
	} else {
		v.Set(reflect.MakeSlice(v.Type(), len(n.Items), len(n.Items)))
	}
	for i, item := range n.Items {
		if err := d.into(item, v.Index(i), p.item(i), false); err != nil {
			return err
		}
	}
	return nil
}

// mapping decodes a table into a map. With Partial it adds to the existing map, so that
// entries that the file does not name are kept, and refuses keys that the map lacks.
func (d *decoder) mapping(n *Node, v reflect.Value, p path) error {
	if n.Kind != Table {
		return p.want(n, Table)
	}
	var known []string // the existing map's keys; none: any key is accepted
	if v.IsNil() || !d.o.Partial {
		v.Set(reflect.MakeMap(v.Type()))
	}
	for _, k := range v.MapKeys() {
		known = append(known, k.String())
	}
	slices.Sort(known)
	for _, f := range n.Fields {
		if len(known) > 0 && !slices.Contains(known, f.Key) {
			return p.unknown(f, known)
		}
		one := reflect.New(v.Type().Elem()).Elem()
		if err := d.into(f.Value, one, p.and(f.Key), false); err != nil {
			return err
		}
		key := reflect.New(v.Type().Key()).Elem()
		if key.Kind() == reflect.String {
			key.SetString(f.Key)
		} else if err := d.number(&Node{At: f.At, Kind: Number, Text: f.Key}, key, p.and(f.Key)); err != nil {
			return err
		}
		v.SetMapIndex(key, one)
	}
	return nil
}

// member is a struct field with its key.
type member struct {
	key            string
	optional, null bool
	v              reflect.Value
}

func (d *decoder) members(v reflect.Value) (out []member) {
	for i := range v.NumField() {
		f := v.Type().Field(i)
		key, rest, _ := strings.Cut(f.Tag.Get(d.tag), ",")
		switch {
		case key == "-" || !f.IsExported() && !f.Anonymous:
			continue
		case f.Anonymous && key == "":
			out = append(out, d.members(v.Field(i))...)
			continue
		case key == "":
			key = f.Name
		}
		optional := strings.Contains(rest, "omit") || f.Tag.Get("strict") == "optional" || d.o.Partial
		out = append(out, member{key, optional, !strings.Contains(rest, "omit"), v.Field(i)})
	}
	return out
}

func (d *decoder) table(n *Node, v reflect.Value, p path) error {
	if n.Kind != Table {
		return p.want(n, Table)
	}
	members := d.members(v)
	var keys []string
	for _, m := range members {
		keys = append(keys, m.key)
	}
	for _, f := range n.Fields {
		i := slices.Index(keys, f.Key)
		if i < 0 && d.o.Unknown {
			continue
		}
		if i < 0 {
			return p.unknown(f, keys)
		}
		if err := d.into(f.Value, members[i].v, p.and(f.Key), members[i].null); err != nil {
			return err
		}
	}
	for _, m := range members {
		if !m.optional && n.Get(m.key) == nil {
			return p.bad(n.At, fmt.Sprintf("write %q with its value", m.key), "the key %q is missing", m.key)
		}
	}
	return nil
}
