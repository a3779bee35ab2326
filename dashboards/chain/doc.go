package chain
