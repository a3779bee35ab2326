package tracefile
