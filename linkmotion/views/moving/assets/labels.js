// Words placed where they can be read: each at the best of the places round its point, the first asked for first.

const PEN = document.createElement("canvas").getContext("2d");

function widthOf(text, size) {
  PEN.font = `${size}px "Liberation Sans", Arial, sans-serif`;
  return PEN.measureText(text).width;
}

const AROUND = [[1, -1], [1, 1], [-1, -1], [-1, 1], [1, 0], [-1, 0], [0, -1], [0, 1]];

// Boxes [left, top, right, bottom] for labels { x, y, text }, inside `frame`, off one another and off `points`.
function placed(labels, frame, points, size) {
  const taken = [];
  return labels.map((label) => {
    const w = widthOf(label.text, size) + 4, h = 1.2 * size;
    let best = null, least = Infinity;
    for (const reach of [7, 16, 28, 44]) for (const [i, [dx, dy]] of AROUND.entries()) {
      const x = label.x + dx * reach - (dx < 0 ? w : dx ? 0 : w / 2), y = label.y + dy * (reach + h / 2) - h / 2;
      const box = [x, y, x + w, y + h];
      const out = Math.max(frame[0] - x, 0) + Math.max(frame[1] - y, 0) + Math.max(x + w - frame[2], 0) + Math.max(y + h - frame[3], 0);
      const over = taken.filter((t) => t[0] < box[2] && box[0] < t[2] && t[1] < box[3] && box[1] < t[3]).length;
      const on = points.filter(([p, q]) => p > x - 2 && p < x + w + 2 && q > y - 1 && q < y + h + 1).length;
      const cost = 1000 * over + 20 * out + 6 * on + 0.6 * reach + 0.1 * i;
      if (cost < least) { least = cost; best = box; }
    }
    taken.push(best);
    return best;
  });
}
