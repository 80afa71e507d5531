// Begins everything a page needs.
import * as acts from "./acts.js";
import * as clock from "./clock.js";
import { settle } from "./settle.js";
import * as stream from "./stream.js";

settle();
clock.start();
acts.start();
acts.showKept();
stream.start();
// Whoever came to enter something finds the field ready.
document.querySelector("section:target input:not([type=hidden], [type=radio], [type=checkbox])")?.focus({ preventScroll: true });
