// Renews a panel in place: keeps focus, half-typed input, ticks and what scripts drew.
function alike(a, b) {
  return a.nodeType === b.nodeType && a.nodeName === b.nodeName && (a.id ?? "") === (b.id ?? "") && key(a) === key(b);
}

function key(node) {
  return node.dataset?.key ?? node.dataset?.task ?? "";
}

export function morph(from, to) {
  if (from.nodeType !== Node.ELEMENT_NODE) {
    if (from.nodeValue !== to.nodeValue) from.nodeValue = to.nodeValue;
    return;
  }
  const drawn = from.hasAttribute("data-bar");
  attributes(from, to);
  if (!drawn) children(from, to);
}

function attributes(from, to) {
  // What somebody has folded out stays so.
  const kept = from.nodeName === "DETAILS" ? "open" : "";
  for (const { name } of [...from.attributes]) if (!to.hasAttribute(name) && name !== kept) from.removeAttribute(name);
  for (const { name, value } of [...to.attributes]) if (from.getAttribute(name) !== value) from.setAttribute(name, value);
}

export function children(from, to) {
  let old = from.firstChild;
  for (const fresh of [...to.childNodes]) {
    let match = old;
    while (match && !alike(match, fresh)) match = match.nextSibling;
    if (match && keeps(old, match)) {
      while (old !== match) old = drop(old);
      morph(match, fresh);
      old = match.nextSibling;
    } else {
      from.insertBefore(fresh, old);
    }
  }
  while (old) old = drop(old);
}

// A later match is taken only if nothing that somebody is using lies between.
function keeps(first, match) {
  for (let node = first; node && node !== match; node = node.nextSibling)
    if (node.nodeType === Node.ELEMENT_NODE && node.contains(document.activeElement)) return false;
  return true;
}

function drop(node) {
  const next = node.nextSibling;
  node.remove();
  return next;
}
