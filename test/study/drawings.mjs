// The study's plots: plain SVG, no library.

const INK = "#222";
const escaped = (text) =>
  String(text).replace(/[&<>"]/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" })[c]);
const text = (x, y, content, extra = "") => `<text x="${x}" y="${y}" ${extra}>${escaped(content)}</text>`;
const page = (width, height, title, body) =>
  `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" font-family="sans-serif" font-size="12" fill="${INK}">
<title>${escaped(title)}</title><rect width="100%" height="100%" fill="#fff"/>
${text(12, 22, title, 'font-size="15" font-weight="bold"')}
${body.join("\n")}
</svg>
`;

/** Shares with their intervals on a common scale; `band` is shaded. */
export function shares(title, rows, { low, high, band }) {
  const left = 250;
  const wide = 420;
  const x = (value) => left + (wide * (Math.min(high, Math.max(low, value)) - low)) / (high - low);
  const height = 70 + 22 * rows.length;
  const body = [];
  if (band)
    body.push(
      `<rect x="${x(band[0])}" y="34" width="${x(band[1]) - x(band[0])}" height="${height - 62}" fill="#dcebdc"/>`,
    );
  for (let k = 0; k <= 4; k++) {
    const value = low + ((high - low) * k) / 4;
    body.push(`<path d="M${x(value)} 34V${height - 28}" stroke="#ccc"/>`);
    body.push(text(x(value), height - 10, `${Number((100 * value).toFixed(2))} %`, 'text-anchor="middle"'));
  }
  rows.forEach((row, k) => {
    const y = 48 + 22 * k;
    body.push(text(left - 12, y + 4, row.name, 'text-anchor="end"'));
    body.push(`<path d="M${x(row.low)} ${y}H${x(row.high)}" stroke="${INK}" stroke-width="2"/>`);
    body.push(`<circle cx="${x(row.value)}" cy="${y}" r="4" fill="#2457a6"/>`);
  });
  return page(left + wide + 40, height, title, body);
}

/** Cumulative shares of positive values on a logarithmic scale. */
export function cumulative(title, series, unit) {
  const [left, top, wide, high] = [60, 40, 560, 300];
  const values = series.flatMap((one) => one.values).filter((value) => value > 0);
  const from = Math.floor(Math.log10(Math.min(...values)));
  const to = Math.ceil(Math.log10(Math.max(...values)));
  const x = (value) => left + (wide * (Math.log10(Math.max(value, 10 ** from)) - from)) / (to - from);
  const y = (fraction) => top + high * (1 - fraction);
  const colours = ["#999", "#c2571a", "#2457a6"];
  const body = [];
  for (let k = from; k <= to; k++) {
    body.push(`<path d="M${x(10 ** k)} ${top}V${top + high}" stroke="#ccc"/>`);
    body.push(text(x(10 ** k), top + high + 18, `${10 ** k}${unit}`, 'text-anchor="middle"'));
  }
  for (const fraction of [0, 0.25, 0.5, 0.75, 1]) {
    body.push(`<path d="M${left} ${y(fraction)}H${left + wide}" stroke="#ddd"/>`);
    body.push(text(left - 8, y(fraction) + 4, `${100 * fraction} %`, 'text-anchor="end"'));
  }
  series.forEach((one, k) => {
    const sorted = [...one.values].sort((a, b) => a - b);
    const points = sorted.map(
      (value, i) => `${x(value).toFixed(1)},${y((i + 1) / sorted.length).toFixed(1)}`,
    );
    body.push(
      `<polyline points="${points.join(" ")}" fill="none" stroke="${colours[k % colours.length]}" stroke-width="2"/>`,
    );
    body.push(text(left + wide + 12, top + 20 + 20 * k, one.name, `fill="${colours[k % colours.length]}"`));
  });
  return page(left + wide + 190, top + high + 34, title, body);
}
