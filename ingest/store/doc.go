// Package store keeps what the daemon must not lose: raw readings, pulls, and
// the documents that people edit. It is embedded, one directory a store, and
// alone imports the database driver. It does not read instruments, analyse,
// or speak to a network.
//
// # Use
//
// One daemon at a time has a store open (Open); any number of commands may
// read beside it (OpenReader) or change documents (OpenEditor). Readings come in through Append, which returns
// once they are on the disk, and a few of them at a time: a tail. Every now
// and then Fold makes one large block of many tails, in one transaction, so
// that at every moment each reading is in exactly one place. Runs gives the
// readings of a window back, Outline their extremes for drawing.
//
// Killing the process or cutting the power at any moment loses nothing that
// Append or a Save has returned for. There is nothing to repair afterwards;
// Open looks over the latest readings and tells in Damage what is not as it
// was written, and Integrity looks at everything.
//
// # Time
//
// Times are int64 nanoseconds since 1970-01-01 UTC, leap seconds not counted.
// Readings lie on even grids, a Run each, and have no stamp of their own. Runs
// of one cell never overlap in time. They may be appended out of order: a
// computer whose clock was wrong for a day keeps its readings.
//
// # Files
//
// The directory holds
//
//	tautlog.db      an SQLite 3 database, application_id 0x54415554 ("TAUT"),
//	                user_version the number of the format, from 1
//	tautlog.db-wal  its write-ahead log, while it is open or after a crash;
//	                it belongs to the database: copy both or neither
//	tautlog.db-shm  its shared memory, worth nothing when nobody has it open
//	tautlog.lock    locked by the daemon (flock); holds its process number
//
// The database is in WAL mode, written with synchronous FULL through one
// connection. Each file of migrations/ makes one format of the one before, in
// one transaction.
//
// # Tables of format 15
//
// Format 1 had all of these but sets, choices and plans. Format 2 had no
// pull_items, pull_vehicles and attachments, no column removed, and none that
// is worked out from doc. Format 4 added an index, format 5 calibrations and zeros,
// format 6 checks and drafts, format 7 the tables of archives, format 8 people,
// sessions and passes, format 9 items_used and the
// columns beside and most, format 10 coding 2 of readings, format 11 an index,
// format 12 set_heads, format 13 limits of pulls and an index of them,
// format 14 the column search of items as the program writes it, format 15
// pulls that are set aside or that a person made.
//
// Documents: cells, vehicles, items, rigs, days, plans, calibrations, zeros, checks
// and drafts have the same columns:
//
//	id       number that other tables refer to
//	key      what the document is found by: the name; of an item its own id,
//	         or the name where it has none; of a day "date name"; of a
//	         calibration the cell and its number, of a zero or a check the cell
//	         and its time, of a draft the cell
//	version  1 when made, one more with each change
//	updated  time of the last change
//	doc      the document as JSON: Cell, gear.Vehicle, gear.Item, rig.Rig, Day,
//	         Plan, Calibration, Zero, Check, Draft. A trigger refuses to change a
//	         calibration
//	removed  time at which it was removed, or NULL; see Remove. Its key is then
//	         byte 31 and its id, so that the name is free for another
//	search   of vehicles and rigs: worked out from doc, for FindRigs and the like;
//	         of items: what gear.Item.Words makes of doc, for FindItems
//	cell     of calibrations, zeros and checks: worked out from doc
//
// setups, one row for each time that what is in force for a cell was changed:
//
//	cell     the cell
//	since    time from which on it is in force
//	doc      Setup as JSON
//
// pulls, one row a pull:
//
//	cell      the cell
//	start_ns  time of the start, as found or within the limits that a person
//	          set; unique for the cell; of one that is set aside a time long before
//	          all others
//	end_ns    time of the end, likewise
//	day       the test day, or NULL
//	settled   0: a first result, the pull may still go on; 1: final
//	edited    what a person has edited, which no analysis overwrites: the sum
//	          of 1 day, 2 rig, 4 kind, 8 ground, 16 notes, 32 speed, 64 slack,
//	          128 depth, 256 attempt, 512 mass of the puller, 1024 mass of the
//	          stuck vehicle, 2048 photos, 4096 how well the mass of the stuck vehicle is
//	          known, 8192 limits, 16384 that it is set aside
//	version   1 when found, one more with each edit by a person
//	updated   time of the last change
//	doc       Pull as JSON: read (the cell's name), rig, found, by, kind, ground, notes, and where a person
//	          has said so photos, speed, slack, depth, attempt, puller_mass, stuck_mass, stuck_mass_within,
//	          and limits: from, to, who, at, and what was found without them
//	          (found, by), while found of the pull is what was measured within; made,
//	          where nothing was found there, and of, the pull that it was parted from;
//	          and aside, where it is no pull: who, at, and of, the pull that it is
//	          part of
//	found_start, found_end  worked out from doc: where a pull with limits, or one that is
//	          set aside, was found; NULL for others, and for one that was made and set aside
//
// sets, one row a version of a set of multipliers; triggers refuse a change or
// the removal of a row:
//
//	name     the name of the set
//	version  from 1 for each name; unique with it
//	made     time at which it was made
//	doc      shock.Kept as JSON: name, version, made (RFC 3339), who, note, and
//	         assumed, or pulls and fit. assumed is a list of class (kind, ground,
//	         strap; empty is any), multiplier, source. pulls are what was fitted,
//	         with the columns of shock.Decode as keys; fit is what came out,
//	         shock.SetRecord
//
// set_heads, one row a row of sets, written by a trigger: what is there at once
// however many pulls are behind a set:
//
//	kept   the row of sets
//	pulls  how many pulls are in its doc
//	doc    its doc without pulls
//
// choices, one row for each time that another set was chosen to plan with; the
// last one is in force:
//
//	since  time of the choice
//	kept   the row of sets, or NULL for the rule of thumb
//
// pull_items and pull_vehicles, one row for each item and vehicle of a pull's
// rig; they follow from the pull, but for what they point to (see link.go):
//
//	pull                    the pull
//	key                     of the item (gear.Item.Key) or vehicle in the pull's rig
//	item, vehicle           the row of the register, or NULL where it has none
//	start_ns, kind, ground  of the row of the pull
//	doc                     life.Use as JSON; of a vehicle the end at which it stood
//	beside                  of items: 1 where a pull of another cell overlaps it, or
//	                        did, so that both may be one pull (life.Moments); 2 where
//	                        the pull is set aside
//	most                    of items: life.Use.Most in newtons, or NULL
//
// items_used, one row an item that ever was in a pull; triggers on pull_items
// keep it:
//
//	item     the item
//	changed  counts up with each change of its links, over all items
//
// attachments, one row a picture:
//
//	sha256  of its bytes, in hexadecimal digits
//	media   image/jpeg, image/png or image/webp
//	added   time at which it came
//	data    its bytes
//
// The photos of an item's inspections and of a pull refer to it as "sha256:" and
// its digits.
//
// archive_station, one row once the store was pushed to an archive:
//
//	name  what the store is called there
//
// archives, one row an archive:
//
//	address  its URL, bucket and organisation
//	pushed   when it last took something, or NULL
//	failed   when something last went wrong, or NULL
//	failure  what, in sentences
//
// archive_cells, one row a cell in an archive:
//
//	archive, cell  which
//	station, name  what it is called there; that never changes
//	until_ns       every reading from before is there, but for the stretches
//	scale          the coefficients by which its newtons were worked out
//
// archive_stretches, one row a stretch of readings that an archive must be given
// once more:
//
//	archive, cell    which
//	from_ns, to_ns   its readings, those at to_ns left out
//	refusal          why the archive refused them; '' where it did not
//
// archive_pulls, one row a pull that an archive has:
//
//	archive, pull  which
//	at_ns          the time of its point there: its start when it was pushed first
//	changed        the last change of the pull or its day that is there
//	refusal        why the archive refused it; '' where it did not
//
// people, one row for each who may use the pages from another machine:
//
//	name      unique, whatever its case
//	role      operator or viewer
//	password  argon2id hash in PHC form, or empty: signed in by passes only
//	made      time at which they were added
//
// sessions, one row a browser that somebody is signed in with, and passes, one
// row a link that signs somebody in once; both go with their person:
//
//	hash      SHA-256 of the secret, in hexadecimal digits
//	person    the person
//	device    of a session: what the browser calls itself
//	address   of a session: where it was last seen
//	made, seen, ends  times: the start, the last use, the end
//
// journal, one row a change of any of these but archives, sessions and passes,
// written in the same transaction:
//
//	at             time of the change
//	who            what WithWho or Options.Who says
//	what, ref      "cell", "vehicle", "item", "rig", "day", "plan",
//	               "calibration", "zero", "check", "draft", "person", "pull", "set" and
//	               the id of the row; "setup" and the id of the cell;
//	               "choice" and the row of sets, 0 for the rule of thumb
//	before, after  the document before (NULL: none, or none in its list) and
//	               after (NULL: removed); of a pull with its day, its version and the step that it is of
//	               (the first change of it) as well; of a set and a choice only name and version, since sets stay
//
// tails and blocks, one row a number of readings of one cell that follow each
// other in time:
//
//	cell      the cell
//	first_ns  time of the first reading
//	last_ns   time of the last reading
//	n         number of readings
//	payload   the readings, see below
//
// levels, two rows a block, of size 4096 and 256:
//
//	cell        the cell
//	size        readings that one extent sums up, at most
//	first_ns    that of the block
//	longest_ns  the longest time from the first to the last reading of one
//	            extent
//	extents     the extents, see below
//
// # Payload of readings
//
// Numbers are unsigned varints (uvarint) or zigzag varints (varint) as in
// encoding/binary, or little-endian. A payload is
//
//	coding    byte     1 or 2: the codings below; 1 is read and no longer
//	                   written; others are for later formats
//	readings  uvarint  in all runs together
//	runs      uvarint
//	run       … for each, in order of time
//	coded readings     of all runs together
//	checksum  4 bytes  CRC-32C (Castagnoli) of everything before it
//
// A run is
//
//	flags     byte     1: step as in the run before; 2: begins where the grid
//	                   of the run before goes on; 4: has marks; 8: its grid
//	                   begins before its first reading
//	readings  uvarint
//	start     varint   unless flag 2: time of the first reading less the time
//	                   at which the grid of the run before goes on (0 for the
//	                   first run)
//	step      8 bytes  unless flag 1: float64, ns from reading to reading
//	skip      uvarint  with flag 8: readings of the grid before the first
//	marks     …        with flag 4: pairs of a uvarint count and a byte mark,
//	                   until the counts add up to the readings
//
// and its reading i, from 0, was taken at
// start + round(step·(skip+i)) − round(step·skip), halves rounded away from
// zero. So a change of the grid, a sync point, costs some ten bytes.
//
// Both codings begin with the first reading (varint), and foresee the readings
// of a frame of 256, the last one shorter, by one of three predictors:
//
//	0  the mean of the frame, which is stored as the mean less the mean of the
//	   latest frame that had one (at first the first reading)
//	1  the last reading
//	2  the last reading and the slope
//
// Before the first frame the last reading is the first reading and the slope is
// 0; the slope is the last reading less the one before it. What is stored of
// each reading is the remainder, the reading less its prediction, folded: u is
// 2v for v of 0 or more, −2v−1 for less. Its quotient is u>>k and its low bits
// are the k lowest bits of u, with a shift k for each frame. All arithmetic wraps at 64
// bits.
//
// In coding 2 the bytes of a frame are
//
//	head       byte     the shift, and 64 times the predictor
//	mean       varint   with predictor 0
//	fields     …        for eight remainders together, those missing in the last
//	                    eight taken as 0: the lowest k mod 8 bits of each, that
//	                    of the first one lowest, in k mod 8 bytes, little-endian
//	planes     …        k div 8 times, from the lower to the higher: the next
//	                    eight bits of each remainder, a byte each
//	quotients  …        for each remainder as many zeros as its quotient, 13 at
//	                    most, and a one; the lowest bit of a byte first, filled
//	                    up with zeros to a whole byte
//	rests      uvarint  for each quotient of 13 or more: the quotient less 13
//
// In coding 1 there is a stream of bits, the highest bit of a byte first, filled
// up with zeros. A frame is the predictor (2 bits), the shift (6 bits), with
// predictor 0 the mean, and the remainders; mean and remainders are Rice codes:
// the quotient in ones, a zero, the low bits; where the quotient is 24 or more,
// 24 ones and the 64 bits of u.
//
// # Extents
//
// An extent holds the extremes of up to size consecutive readings, those that
// the instrument called invalid left out. It ends early where the readings of
// a run would begin later than twice its proper length after its first. For
// each there follow, with b the extent before it (all zero at first):
//
//	n      uvarint  readings
//	from   varint   time of its first reading, less the time of b's last
//	                reading, less the pause between b and the one before b
//	                (0 for the first two)
//	to     varint   time from its first to its last reading, less b's
//	min    varint   smallest reading, less b's
//	range  uvarint  largest reading less smallest
//
// # Sizes
//
// Gaussian noise of 5 counts costs 0.577 bytes a reading and of 20 counts 0.825;
// the least possible is 0.546 and 0.796, log2(σ·√(2πe)) bits. Levels add 0.03
// bytes a reading. TestNoiseCostsLittleMoreThanItMust and the benchmarks
// measure it.
package store
