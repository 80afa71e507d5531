// Begins everything a page needs.
import * as acts from "./acts.js";
import * as choose from "./choose.js";
import * as clock from "./clock.js";
import * as kept from "./kept.js";
import * as lock from "./lock.js";
import * as marked from "./marked.js";
import * as messages from "./messages.js";
import * as others from "./others.js";
import * as queue from "./queue.js";
import * as seen from "./seen.js";
import * as screen from "./screen.js";
import { settle } from "./settle.js";
import * as stream from "./stream.js";
import * as waiting from "./waiting.js";

settle();
clock.start();
messages.start();
marked.start();
acts.start();
messages.showKept();
if (kept.restore(stream.renew)) stream.linked(false);
waiting.start();
others.start();
choose.start();
lock.start();
screen.start();
queue.start();
stream.start();
seen.start();
kept.start();
// Whoever came to enter something finds the field ready.
document.querySelector("section:target input:not([type=hidden], [type=radio], [type=checkbox])")?.focus({ preventScroll: true });
