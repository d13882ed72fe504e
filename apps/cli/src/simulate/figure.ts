/**
 * Hours over the limit against looks, both for each patient, as a small SVG: one mark for each strategy, told apart by
 * shape and by its name beside it, never by colour alone; ours joined by a line.
 *
 * Units     h and looks for each patient; drawn in pixels of the view box
 */
import type { StrategySummary, Summary } from './summary.ts';

const width = 720;
const height = 480;
const left = 72;
const right = 164;
const top = 56;
const bottom = 64;

const shapes: readonly ((x: number, y: number) => string)[] = [
  (x, y) => `<rect x="${x - 6}" y="${y - 6}" width="12" height="12"/>`,
  (x, y) => `<path d="M${x} ${y - 8}L${x + 8} ${y + 6}H${x - 8}Z"/>`,
  (x, y) => `<path d="M${x} ${y - 8}L${x + 8} ${y}L${x} ${y + 8}L${x - 8} ${y}Z"/>`,
  (x, y) => `<path d="M${x} ${y + 8}L${x + 8} ${y - 6}H${x - 8}Z"/>`,
  (x, y) => `<path d="M${x - 7} ${y - 7}L${x + 7} ${y + 7}M${x - 7} ${y + 7}L${x + 7} ${y - 7}"/>`,
  (x, y) => `<path d="M${x - 4} ${y - 7}H${x + 4}L${x + 8} ${y}L${x + 4} ${y + 7}H${x - 4}L${x - 8} ${y}Z"/>`,
  (x, y) => `<rect x="${x - 3}" y="${y - 9}" width="6" height="18"/>`,
  (x, y) => `<rect x="${x - 9}" y="${y - 3}" width="18" height="6"/>`,
];

const escaped = (text: string): string =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('"', '&quot;');

/** A round number of units between ticks, for about six of them. */
function tickStep(most: number): number {
  const rough = Math.max(most, 1e-9) / 6;
  const power = 10 ** Math.floor(Math.log10(rough));
  return power * ([1, 2, 5, 10].find((one) => one * power >= rough) ?? 10);
}

const short = (value: number): string => String(Math.round(value * 100) / 100);

/** Moves labels apart, from the top down, so that none covers another. */
function spread(wanted: readonly number[]): readonly number[] {
  const order = wanted.map((y, index) => ({ y, index })).sort((a, b) => a.y - b.y);
  const out = [...wanted];
  let floor = top;
  for (const one of order) {
    floor = Math.max(floor, one.y);
    out[one.index] = floor;
    floor += 16;
  }
  return out;
}

export function figureOf(
  summary: Summary,
  job: { readonly generator: string; readonly hours: number },
): string {
  const point = (one: StrategySummary) => ({ looks: one.measures.looks, hours: one.measures.hoursOverLimit });
  const mostLooks = 1.05 * Math.max(1, ...summary.strategies.map((one) => point(one).looks.mean));
  const mostHours = 1.05 * Math.max(0.1, ...summary.strategies.map((one) => point(one).hours.high));
  const x = (looks: number): number => Math.round(left + (looks / mostLooks) * (width - left - right));
  const y = (hours: number): number =>
    Math.round(height - bottom - (hours / mostHours) * (height - top - bottom));
  const ticks = (most: number): readonly number[] => {
    const step = tickStep(most);
    return Array.from({ length: Math.floor(most / step) + 1 }, (_, index) => index * step);
  };
  const title = 'Hours over the limit against looks for each patient';
  const under = `${summary.patients} made-up patients, ${job.hours} h each, generator ${job.generator}; bars: 95 % intervals`;
  const described = summary.strategies
    .map((one) => `${one.name}: ${short(point(one).looks.mean)} looks, ${short(point(one).hours.mean)} h`)
    .join('; ');
  const simple = summary.strategies.filter((one) => one.tolerancePercent === undefined);
  const curve = summary.strategies
    .filter((one) => one.tolerancePercent !== undefined)
    .toSorted((a, b) => point(a).looks.mean - point(b).looks.mean);
  const bar = (one: StrategySummary): string => {
    const { looks, hours } = point(one);
    return `<path class="bar" d="M${x(looks.mean)} ${y(hours.low)}V${y(hours.high)}"/>`;
  };
  const labelsAt = spread(summary.strategies.map((one) => y(point(one).hours.mean)));
  const label = (one: StrategySummary): string => {
    const at = labelsAt[summary.strategies.indexOf(one)] ?? 0;
    const px = x(point(one).looks.mean);
    const py = y(point(one).hours.mean);
    return `<path class="leader" d="M${px + 9} ${py}L${width - right + 8} ${at}"/><text x="${width - right + 12}" y="${at + 4}">${escaped(one.name)}</text>`;
  };
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" role="img" aria-labelledby="title desc">`,
    `<title id="title">${title}</title>`,
    `<desc id="desc">${escaped(`${under}. ${described}. Lower and further left is better.`)}</desc>`,
    '<style>text{font:13px system-ui,sans-serif;fill:#1b1b1b}.head{font-size:16px;font-weight:600}.small{font-size:12px}.axis,.mark,.bar,.curve,.leader{fill:none;stroke:#1b1b1b}.axis{stroke-width:1}.mark{stroke-width:2}.bar{stroke-width:1}.curve{stroke:#1a4f8b;stroke-width:2.5}.leader{stroke:#767676;stroke-width:.75;stroke-dasharray:2 3}.ours{fill:#1a4f8b;stroke:#1a4f8b}</style>',
    `<rect width="${width}" height="${height}" fill="#fff"/>`,
    `<text class="head" x="${left}" y="24">${title}</text>`,
    `<text class="small" x="${left}" y="42">${escaped(under)}</text>`,
    `<path class="axis" d="M${left} ${top}V${height - bottom}H${width - right}"/>`,
    ...ticks(mostLooks).map(
      (tick) =>
        `<path class="axis" d="M${x(tick)} ${height - bottom}v5"/><text text-anchor="middle" x="${x(tick)}" y="${height - bottom + 20}">${short(tick)}</text>`,
    ),
    ...ticks(mostHours).map(
      (tick) =>
        `<path class="axis" d="M${left} ${y(tick)}h-5"/><text text-anchor="end" x="${left - 9}" y="${y(tick) + 4}">${short(tick)}</text>`,
    ),
    `<text text-anchor="middle" x="${(left + width - right) / 2}" y="${height - 18}">looks for each patient</text>`,
    `<text text-anchor="middle" transform="translate(20 ${(top + height - bottom) / 2}) rotate(-90)">hours over the limit for each patient</text>`,
    ...summary.strategies.map(label),
    ...summary.strategies.map(bar),
    curve.length > 1
      ? `<path class="curve" d="M${curve.map((one) => `${x(point(one).looks.mean)} ${y(point(one).hours.mean)}`).join('L')}"/>`
      : '',
    ...curve.map(
      (one) =>
        `<circle class="ours" cx="${x(point(one).looks.mean)}" cy="${y(point(one).hours.mean)}" r="5"/>`,
    ),
    ...simple.map(
      (one, index) =>
        `<g class="mark">${(shapes[index % shapes.length] as (typeof shapes)[number])(x(point(one).looks.mean), y(point(one).hours.mean))}</g>`,
    ),
    '</svg>',
    '',
  ]
    .filter((row, index, rows) => row !== '' || index === rows.length - 1)
    .join('\n');
}
