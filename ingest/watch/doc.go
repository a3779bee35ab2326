package watch
