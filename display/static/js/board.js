// Arrows go from block to block of the board, to the nearest in that direction; Tab and Enter work as everywhere.
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function middle(block) {
  const { left, right, top, bottom } = block.querySelector(".box").getBoundingClientRect();
  return [(left + right) / 2, (top + bottom) / 2];
}

document.addEventListener("keydown", (event) => {
  const way = WAYS[event.key];
  const here = event.target.closest?.(".plan svg a");
  if (!way || !here || event.altKey || event.ctrlKey || event.metaKey) return;
  const [x, y] = middle(here);
  let best = null;
  let least = Infinity;
  for (const block of document.querySelectorAll(".plan svg a[href]")) {
    if (block === here) continue;
    const [dx, dy] = [middle(block)[0] - x, middle(block)[1] - y];
    const along = dx * way[0] + dy * way[1];
    const across = Math.abs(dx * way[1]) + Math.abs(dy * way[0]);
    if (along <= 1) continue;
    const far = along + 3 * across;
    if (far < least) [best, least] = [block, far];
  }
  if (!best) return;
  event.preventDefault();
  best.focus();
});
