// Package output writes the files that écart makes, and the text that goes into
// them.
//
// A [Set] holds the outputs of one command. It checks every name before the work
// begins, and again when the file is written. An output never replaces an input,
// another output, a recording, a journal or a file of another kind. Any other
// file is replaced only with [Set.Force], except for drawings and tables that
// écart made: these have a mark (see [Form]), which contains no name, time or
// place.
//
// A file is written completely or not at all, is on the disk when the call returns,
// and keeps the permissions of the file that it replaces; a new one obeys the umask.
// On Linux the data have no file name until they are complete, so that a killed run
// leaves nothing. On a file system without this feature they are in a locked file
// ".ecart-*.part" beside the target. If a run is killed, the next run that writes
// into the folder removes that file.
package output
