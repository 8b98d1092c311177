// What the drawing must hold, [left, low, right, high], and the travels of the guided pins, mm.
function extentOf(kase, data) {
  const box = [Infinity, Infinity, -Infinity, -Infinity], travels = new Map();
  const nodes = data.nodes, some = [...new Set([nodes[0], nodes[nodes.length >> 1], nodes[nodes.length - 1]])];
  let r = 1;
  for (const u of some) {
    const blend = kase.at(u), out = new Float64Array(blend.counts.length);
    for (let i = 0; i < 24; i++) {
      blend.all(i * Math.PI / 12, out);
      const at = (pin) => { const q = blend.index.get(`${pin} x`); return [out[q], out[q + 1]]; };
      r = Math.hypot(...at("crank pin"));
      for (const pin of kase.layout.pins) {
        if (pin.startsWith("slot ")) continue;
        const [x, y] = at(pin);
        box[0] = Math.min(box[0], x); box[1] = Math.min(box[1], y);
        box[2] = Math.max(box[2], x); box[3] = Math.max(box[3], y);
      }
      const slot = kase.layout.slot;
      if (slot) for (const [x, y] of carried(slot, slot.body, at)) {
        box[0] = Math.min(box[0], x); box[1] = Math.min(box[1], y - 0.12 * r);
        box[2] = Math.max(box[2], x); box[3] = Math.max(box[3], y + 0.12 * r);
      }
      for (const part of kase.layout.parts.filter((p) => p.kind === "guide")) {
        const [x, y] = at(part.pins[0]), c = Math.cos(part.direction), s = Math.sin(part.direction);
        const along = x * c + y * s, across = -x * s + y * c, old = travels.get(part.pins[0]) ?? [Infinity, -Infinity];
        travels.set(part.pins[0], [Math.min(old[0], along), Math.max(old[1], along), -across * s, across * c]);
        box[2] = Math.max(box[2], x + 1.35 * r * c);
      }
    }
  }
  box[0] = Math.min(box[0] - 0.15 * r, -1.95 * r); box[1] = Math.min(box[1] - 0.25 * r, -1.95 * r);
  box[3] = Math.max(box[3] + 0.2 * r, 1.95 * r); box[2] += 0.05 * r;
  return { box, travels };
}
