// Points, steps and lengths of the drawing page. Points are [x, y] in metres, y up the plan.
// The scripts of this page share one object instead of importing each other: hashed file names would break imports.
const P = (globalThis.planEditor ??= {});

/** @typedef {[number, number]} Point */
/** @typedef {{left: number, bottom: number, right: number, top: number}} Box */

const MILLIMETRES = 1000;

/** Rounded to the millimetre, so that 0.1 + 0.2 m stays 0.3 m. @param {number} metres */
const tidy = (metres) => Math.round(metres * MILLIMETRES) / MILLIMETRES;

/** A number for people: at most three decimals, a real minus sign. @param {number} metres */
const inWords = (metres) => String(tidy(metres)).replace("-", "−");

/** The nearest point of the grid of `step` that lies in the box. @returns {Point} */
function snapped([x, y], step, box) {
  const toStep = (value) => (step > 0 ? Math.round(value / step) * step : value);
  return [within(toStep(x), box.left, box.right), within(toStep(y), box.bottom, box.top)];
}

function within(value, low, high) {
  return tidy(Math.min(high, Math.max(low, value)));
}

/** All points moved together, as far as the box lets them. @param {Point[]} points @returns {Point[]} */
function moved(points, [dx, dy], box) {
  const xs = points.map(([x]) => x);
  const ys = points.map(([, y]) => y);
  const right = Math.min(Math.max(dx, box.left - Math.min(...xs)), box.right - Math.max(...xs));
  const up = Math.min(Math.max(dy, box.bottom - Math.min(...ys)), box.top - Math.max(...ys));
  return points.map(([x, y]) => [tidy(x + right), tidy(y + up)]);
}

/** @param {Point} a @param {Point} b */
const length = (a, b) => Math.hypot(b[0] - a[0], b[1] - a[1]);

/** Area of a polygon in square metres (shoelace formula). @param {Point[]} corners */
function area(corners) {
  const twice = corners.reduce((sum, [x, y], i) => {
    const [nextX, nextY] = corners[(i + 1) % corners.length];
    return sum + x * nextY - nextX * y;
  }, 0);
  return Math.abs(twice) / 2;
}

/** @param {Point[]} points @returns {Point} */
function middle(points) {
  const sum = points.reduce(([x, y], [px, py]) => [x + px, y + py], [0, 0]);
  return [sum[0] / points.length, sum[1] / points.length];
}

/** Even-odd rule. @param {Point} point @param {Point[]} corners */
function isInside([x, y], corners) {
  let inside = false;
  corners.forEach(([ax, ay], i) => {
    const [bx, by] = corners[(i + corners.length - 1) % corners.length];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
  });
  return inside;
}

/** `count` spots in a polygon for nodes that move in it. @param {Point[]} corners @returns {Point[]} */
function spread(corners, count) {
  const xs = corners.map(([x]) => x);
  const ys = corners.map(([, y]) => y);
  const [left, bottom] = [Math.min(...xs), Math.min(...ys)];
  const [width, depth] = [Math.max(...xs) - left, Math.max(...ys) - bottom];
  const rows = Math.ceil(Math.sqrt(4 * count)) + 1;
  const spots = [];
  for (let row = 0; row < rows; row += 1) {
    for (let column = 0; column < rows; column += 1) {
      const spot = [left + ((column + 0.5) * width) / rows, bottom + ((row + 0.5) * depth) / rows];
      if (isInside(spot, corners)) spots.push(spot);
    }
  }
  if (spots.length < count) return Array(count).fill(middle(corners));
  return Array.from({ length: count }, (_, i) => spots[Math.floor(((i + 0.5) * spots.length) / count)]);
}

P.geometry = { tidy, inWords, snapped, moved, length, area, middle, spread };
