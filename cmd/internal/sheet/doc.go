// Package sheet makes the page that explains a reading to a judge in training, an
// athlete or a parent: one HTML file that stands by itself, asks for nothing from
// outside and prints on one A4 or Letter page, in colour and in grey. It reads no
// file and no clock: the same input gives the same bytes.
//
// All that a person reads stands in words_en.go; another language is another such
// file. Numbers follow the locale. A sheet names no file and no place, and its
// pictures carry nothing but themselves; where covers are given, what lies under
// them is not in the file.
package sheet
