// What tests measure of a page as the browser draws it.

/**
 * Everything that can be tapped, with its box; a label belongs to its field. Left out: blocks of the board, whose height is
 * litres, and its lines of orders; the list of orders and the pages of stores lead to the same with targets of full size.
 */
function targets() {
  const shown = (e) => e.checkVisibility({ visibilityProperty: true, opacityProperty: true });
  return [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, summary, textarea")]
    .filter((e) => shown(e) && !e.closest("svg.plot, .row-order h2") && getComputedStyle(e).pointerEvents !== "none")
    .map((e) => {
      const box = (e.closest("label") ?? e).getBoundingClientRect();
      const act = e.matches("button, a.button:not(.more)") && !!e.closest(".panel-station-hand, .panel-station-sill");
      return { what: e.outerHTML.slice(0, 140), act, x: box.x, y: box.y, width: box.width, height: box.height };
    })
    .filter((t) => t.width > 1 && t.height > 1);
}

function colour(text) {
  const found = (text.match(/[\d.]+/g) ?? [0, 0, 0, 0]).map(Number);
  return found.length < 4 ? [...found, 1] : found;
}

const over = (a, b) => [0, 1, 2].map((i) => a[i] * a[3] + b[i] * (1 - a[3])).concat(1);

/** Relative luminance, WCAG 2.2. */
function luminance(of) {
  const linear = of.slice(0, 3).map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
  return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
}

function ground(e) {
  const layers = [];
  for (let at = e; at; at = at.parentElement) {
    const layer = colour(getComputedStyle(at).backgroundColor);
    if (layer[3]) layers.push(layer);
    if (layer[3] === 1) break;
  }
  return layers.reverse().reduce((under, layer) => over(layer, under), [255, 255, 255, 1]);
}

/** Contrast of every run of letters; what is `least` px or larger, or the head of an alarm, is read from two metres. */
function contrasts(least) {
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const e = walker.currentNode.parentElement;
    const text = walker.currentNode.data.trim();
    if (!text || e.closest("script, style, svg, .only-heard") || !e.checkVisibility({ visibilityProperty: true })) continue;
    const style = getComputedStyle(e);
    const size = parseFloat(style.fontSize);
    const far = size >= least || !!e.closest(".panel-station-sill .alarm p b");
    const large = size >= 24 || (size >= 18.66 && style.fontWeight >= 600);
    const under = ground(e);
    const [a, b] = [luminance(over(colour(style.color), under)), luminance(under)];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    found.push({ text: text.slice(0, 60), size, far, ratio, asked: far ? 7 : large ? 3 : 4.5 });
  }
  return found;
}
