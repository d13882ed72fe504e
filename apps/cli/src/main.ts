#!/usr/bin/env node
console.log("ebbline")
