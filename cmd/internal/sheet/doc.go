// Package sheet writes the page that explains a reading to a judge in training, an
// athlete or a parent: one self-contained HTML file that loads nothing and prints on
// one A4 or Letter page, in colour and in grey. It uses no file and no clock: the same
// input gives the same bytes.
//
// All text for readers is in words_en.go; another language has such a file of its own. Numbers follow the locale. A sheet contains no file
// name and no place, and its pictures have no metadata. The parts of a picture under
// covers are not in the file.
package sheet
