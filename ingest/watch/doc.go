// Package watch finds the pulls in what the recorder records, while it is
// recorded, and keeps them in the store.
//
// It does not measure (analysis/pull does), judge (analysis/rating does) or
// read instruments.
package watch
