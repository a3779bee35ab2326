// Package life sums up what an item of gear has been through: every logged
// pull with what it carried there, the largest, the verdicts, and what the
// owner's rules say on a given day.
//
// It keeps facts apart from verdicts. A Use is what a pull did and how the item
// hung in it; it knows no rating and can be kept. The verdicts of a Life are
// made from uses and the item as it is handed in, so that a rating that is
// corrected later changes every verdict at once and nothing has to be judged
// again. A single pull, on the other hand, shows the ratings of its own copy of
// the rig.
//
// It is a package beside rating and not part of it, because rating judges one
// peak and knows no log. It predicts nothing: there is no count of cycles
// after which an item fails.
package life
