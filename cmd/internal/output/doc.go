// Package output writes the files that écart makes, and the text that goes into
// them.
//
// A [Set] is what one command writes. It checks every name before the work
// begins, and again when the file is written: an output never takes the place of
// an input, of another output, of a recording, of a journal or of a file of
// another kind. Replacing a file takes [Set.Force], except where écart drew or
// tabulated it itself: such a file bears a mark (see [Form]), which has no name,
// no time and no place in it.
//
// A file is written whole or not at all, is on the disk when the call returns,
// and keeps the permissions of the file it replaces; a new one obeys the umask.
// On Linux the data have no name until they are complete, so that a killed run
// leaves nothing. Where the file system cannot do that they are in a locked file
// ".ecart-*.part" beside the target, and what a killed run left there is removed
// by the next run that writes into the folder.
package output
