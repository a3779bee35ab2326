package web
