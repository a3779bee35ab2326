// Package rig is the chain of gear from the pulling end to the stuck end,
// and what share of the load cell's reading each item of it carries.
//
// It solves static equilibrium only: gear has no mass and does not stretch.
// It knows what an item is and how the line lies at it, and leaves what the
// item may carry to packages gear and rating.
//
// # Rig files
//
// A rig file is one JSON object. Every quantity is a string with its unit:
// "4.75t" (tonne-force), "46.6kN", "9500lbf" for forces; "3.1t", "2800kg" for
// masses; "9m" for lengths; "60deg" for angles. A bare number in their place
// is refused, and so is a key that is not listed here. What is not known is
// left out: nothing is assumed for it.
//
//	name      what people call the rig
//	pulling   the vehicle at the pulling end: name, and where known id, gvm,
//	          kerb (mass by its papers, empty), weighed (mass as loaded),
//	          weighed_within (by how much that may be off in 95 of 100 cases),
//	          full_turn (how far a line that follows the front wheels may lie
//	          to the side), wheelbase, notes. An anchor stands here by its name
//	          alone.
//	stuck     the vehicle at the stuck end, likewise
//	winch_at  "pulling" (also when left out) or "stuck": the end from which
//	          the line is hauled, where there are sheaves with a loss
//	chain     the links, from the pulling end to the stuck end
//	id, notes
//
// A link is one of:
//
//	{"item": …, "off_axis": …}
//	    One item that carries the whole line.
//	{"bridle": {"included_angle", "equaliser", "off_axis", "strap", "left", "right"}}
//	    Two legs from the line to two points of the vehicle; the first or the
//	    last link. included_angle lies between the legs. equaliser is true
//	    where something lets the legs share. off_axis is the angle of the line
//	    to the vehicle's own axis. strap is a {"item": …} that makes both legs;
//	    its ratings are those of one leg. left and right list the items of
//	    each leg, as {"item": …, "off_axis": …}.
//	{"redirect": {"included_angle", "sheave_loss", "block"}}
//	    The line bends around a block. included_angle lies between the two
//	    lines: 0deg where the line comes back on itself, 180deg where it runs
//	    straight on. block lists the block and what anchors it.
//	{"tackle": {"parts", "sheave_loss", "fall", "sheaves", "dead"}}
//	    One line laid several times. parts is the number of line parts. fall
//	    lists what is on the hauled part, the winch first. sheaves has one
//	    list a sheave, the block and what holds it, the first at the far side
//	    from the winch. dead lists what the end of the line is made fast to.
//
// sheave_loss is the part of the line pull that a sheave takes, 0.1 for 10 %.
//
// off_axis has horizontal and vertical, the angle between the line and the
// item's own axis to the side and up or down, or full_turn: true where the
// line follows the front wheels at full turn. At a shackle only side load
// counts, not an angle within the plane of the bow. Where it is left out at a
// point in a bridle, half of the included angle follows from the rig; at a
// mounting, the angle of the point that it holds.
//
// seat, beside off_axis, is of a bow shackle only: free where it turns into
// the line, bound where its slot holds it. A bound one without an off_axis of
// its own lies as what it sits in does, and all of that is side load.
//
// An item has:
//
//	name      what people call it
//	kind      recovery point, mounting, hitch receiver, tie-down, tow eye, tow
//	          ball, bow shackle, soft shackle, recovery strap, kinetic rope, tow
//	          strap, extension strap, tree strap, bridle, chain, winch, winch
//	          rope, block, ring, hook, ground anchor, load cell, other
//	ratings   a list, see below; left out where none is known
//	vehicle   id or name of the vehicle that it is fixed to
//	mounting  of a point, or of an item of kind mounting: see below. That of a
//	          point is judged as an item of its own behind it.
//	retire_rule, inspect_every_months, inspections, quarantined, retired
//	          what has become of it: see below
//	id, where, length, mass, stiffness, maker, serial, made, inspected, notes
//
// One item of the chain is a load cell, or two are, with names of their own: in
// the two legs of a bridle, say. A reading then says which cell it is of.
//
// A rating has:
//
//	value          the force
//	basis          WLL, MBS, proof load, or unknown for a number that does not
//	               say what it is
//	design_factor  divides an MBS into a working limit, a number from 1 up
//	factor_from    maker or owner: who stated it
//	direction      straight only; up to 30deg; full turn of the front wheels;
//	               any direction; side load steps (100, 70, 50 % of a shackle)
//	together       alone, or pair where the value is that of two points
//	               together through a bridle
//	stamp          what is stamped, word for word
//
// A mounting has:
//
//	chassis_member          what it is bolted or welded to, in words
//	engineered_for_vehicle  yes, no or unknown: by its maker, for this vehicle
//	tested_on_vehicle       yes, no or unknown: by its maker, on this vehicle
//	bolts                   a list of groups of bolts that are alike: count;
//	                        size, M8 to M24; thread_pitch; property_class, 4.6
//	                        to 12.9, left out where the head has no mark;
//	                        shear_plane, thread or shank; axis, how they lie in
//	                        the vehicle: along, across or upright; lever_arm
//	                        from their face to the line of pull, and rows_apart
//	                        of the rows that resist it; hole, end_distance,
//	                        edge_distance, spacing, spacing_across of the holes
//	plate                   thickness, and steel: S235, S275 or S355
//	proof_pulls             a list: level; hold_s in seconds; decay, 0.02 for
//	                        2 %; set, how far it stayed bent, 0mm where nothing
//	                        was found; date, pull, notes
//
// Where the maker both engineered and tested it, the rating of the point
// stands for the mounting. Otherwise, without a rating of its own, it cannot
// be judged, however strong its bolts are: an estimate of them by EN 1993-1-8
// is indicative, and only ever speaks against it.
//
// What has become of an item; a date is 2026-03-14, 2026-03 or 2026:
//
//	retire_rule           the owner's: max_age_years, max_pulls,
//	                      max_peak_of_mbs (0.5 for half), by (a date), notes
//	inspect_every_months  the owner's interval, a whole number
//	inspections           a list: date, who, result (in order, watch, unfit),
//	                      notes, photos (names of files)
//	quarantined, retired  out of service, until somebody has looked or for
//	                      good: reason, date, who
package rig
