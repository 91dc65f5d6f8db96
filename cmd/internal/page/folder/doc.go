// Package folder keeps the page's data folder: the files of takes, what is known of them, and what was made of them.
//
// A folder is claimed by a marker and held by a lock, so that one page alone writes in it. Files are written whole or not
// at all. Only files with names that écart gives are ever removed. What a run that was killed has left is removed when the
// folder is opened next.
package folder
