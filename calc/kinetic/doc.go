package kinetic
