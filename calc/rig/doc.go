// Package rig is the chain of gear from the pulling end to the stuck end,
// and what share of the load cell's reading each item of it carries.
package rig
