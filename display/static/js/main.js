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
