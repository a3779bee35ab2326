// Package store keeps what the daemon must not lose: raw readings, pulls, and
// the documents that people edit. It is embedded, one directory a store, and
// alone imports the database driver.
package store
