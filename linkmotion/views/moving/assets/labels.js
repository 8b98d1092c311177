// Words placed where they can be read: each at the best of the places round its point, the first asked for first.

const PEN = document.createElement("canvas").getContext("2d");

function widthOf(text, size) {
  PEN.font = `${size}px "Liberation Sans", Arial, sans-serif`;
  return PEN.measureText(text).width;
}

const AROUND = [[1, -1], [1, 1], [-1, -1], [-1, 1], [1, 0], [-1, 0], [0, -1], [0, 1]];

// Boxes [left, top, right, bottom] for labels { x, y, text }, inside `frame`, off one another, off `taken` and off
// `points`. A label that may stand anywhere along a line has its places in `along`.
function placed(labels, frame, points, size, taken = []) {
  const kept = [...taken];
  return labels.map((label) => {
    const w = widthOf(label.text, size) + 4, h = 1.2 * size;
    let best = null, least = Infinity;
    const weigh = (x, y, far) => {
      const right = x + w, low = y + h;
      const out = Math.max(frame[0] - x, 0) + Math.max(frame[1] - y, 0) + Math.max(right - frame[2], 0) + Math.max(low - frame[3], 0);
      const over = kept.filter((t) => t[0] < right && x < t[2] && t[1] < low && y < t[3]).length;
      const on = points.filter(([p, q]) => p > x - 3 && p < right + 2 && q > y - 1 && q < low + 1).length;
      const cost = 1000 * over + 20 * out + 6 * on + far;
      if (cost < least) { least = cost; best = [x, y, right, low]; }
    };
    for (const [px, py] of label.along ?? [[label.x, label.y]]) for (const reach of label.along ? [1] : [7, 16, 28, 44])
      for (const [i, [dx, dy]] of AROUND.entries())
        weigh(px + dx * reach - (dx < 0 ? w : dx ? 0 : w / 2), py + dy * (reach + h / 2) - h / 2, 0.6 * reach + 0.1 * i + (label.along && !dy ? 9 : 0));
    kept.push(best);
    return best;
  });
}
