// Entry of the pages' script. Every page is whole without it: it only makes
// the line live, lets a trace be zoomed, and saves a tap on the choosers.
import { startLive } from "./live.js";
import { startZoom } from "./zoom.js";
import { startChoosers } from "./choose.js";
import { startFilling } from "./fill.js";
import { startReading } from "./reads.js";
import { startFigure } from "./multipliers.js";
import { startAsking } from "./ask.js";
import { startAgain } from "./again.js";

startChoosers();
startFilling();
startReading();
startAsking();
for (const el of document.querySelectorAll<HTMLElement>("[data-live]")) startLive(el);
for (const el of document.querySelectorAll<HTMLElement>("[data-zoom]")) startZoom(el);
for (const el of document.querySelectorAll<HTMLElement>("[data-figure]")) void startFigure(el);
for (const el of document.querySelectorAll<HTMLElement>("[data-again]")) startAgain(el);
