// Package folder keeps the page's data folder: the files of takes, what is known of them, and what was made of them.
//
// A marker claims the folder and a lock holds it, so that only one page writes in it. Files are written whole or not at
// all. Only files with names that écart gives are ever removed. What a killed run has left is removed when the folder is
// opened next.
package folder
