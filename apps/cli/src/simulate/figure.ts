/**
 * Hours over the limit against looks, both for each patient, as a small SVG: one line for each family of strategies, told
 * apart by the shape of its marks, its dashes and its name at the side, never by colour alone; ours is the thick one.
 *
 * Units     h and looks for each patient; drawn in pixels of the view box
 * Domain    looks up to half as many again as ours ever takes: what lies beyond is not drawn, and said so
 */
import type { Interval, StrategySummary, Summary } from './summary.ts';

const width = 880;
const height = 480;
const left = 72;
const right = 252;
const top = 56;
const bottom = 64;

const shapes: readonly ((x: number, y: number) => string)[] = [
  (x, y) => `<rect x="${x - 5}" y="${y - 5}" width="10" height="10"/>`,
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

const dashes = ['', '7 4', '2 4', '10 4 2 4', '5 2', '1 3', '12 3', '3 3 8 3'];

/** How each family is told in the list at the side. */
const said: Readonly<Record<string, string>> = {
  fixed: 'every so many hours',
  line: 'line through two looks',
  weight: 'mL/kg/h, rate varied',
  'weight@': '1 mL/kg/h, share varied',
  'weight-less-voids': 'less voids, rate varied',
  'weight-less-voids@': 'less voids, share varied',
  ours: 'ours',
  chance: 'ours, voids let out',
};

/** A family of a second run goes by its name and what is different, after a comma. */
function inWords(family: string): string {
  const [name = '', ...different] = family.split(', ');
  return [said[name] ?? name, ...different].join(', ');
}

interface Family {
  readonly name: string;
  readonly ours: boolean;
  readonly points: readonly StrategySummary[];
}

function familiesIn(strategies: readonly StrategySummary[]): readonly Family[] {
  const found = new Map<string, StrategySummary[]>();
  for (const one of strategies) {
    const points = found.get(one.family) ?? [];
    points.push(one);
    found.set(one.family, points);
  }
  return [...found].map(([name, points]) => ({
    name,
    ours: points.some((one) => one.tolerancePercent !== undefined),
    points: points.toSorted((a, b) => a.measures.looks.mean - b.measures.looks.mean),
  }));
}

export function figureOf(
  summary: Summary,
  job: { readonly generator: string; readonly hours: number },
): string {
  const families = familiesIn(summary.strategies);
  const looksOf = (one: StrategySummary): number => one.measures.looks.mean;
  const hoursOf = (one: StrategySummary): Interval => one.measures.hoursOverLimit;
  const oursMost = Math.max(0, ...families.flatMap((one) => (one.ours ? one.points.map(looksOf) : [])));
  const allMost = Math.max(1, ...summary.strategies.map(looksOf));
  const mostLooks = 1.05 * (oursMost > 0 ? Math.min(allMost, 1.5 * oursMost) : allMost);
  const drawn = (one: StrategySummary): boolean => looksOf(one) <= mostLooks;
  const beyond = summary.strategies.filter((one) => !drawn(one)).length;
  const mostHours = 1.05 * Math.max(0.1, ...summary.strategies.filter(drawn).map((one) => hoursOf(one).high));
  const x = (looks: number): number => Math.round(left + (looks / mostLooks) * (width - left - right));
  const y = (hours: number): number =>
    Math.round(height - bottom - (hours / mostHours) * (height - top - bottom));
  const ticks = (most: number): readonly number[] => {
    const step = tickStep(most);
    return Array.from({ length: Math.floor(most / step) + 1 }, (_, index) => index * step);
  };
  const title = 'Hours over the limit against looks for each patient';
  const under = `${summary.patients} made-up patients, ${job.hours} h each, generator ${job.generator}; bars: 95 % intervals of the last one of ours. Lower and further left is better`;
  const described = summary.strategies
    .map((one) => `${one.name}: ${short(looksOf(one))} looks, ${short(hoursOf(one).mean)} h`)
    .join('; ');
  const shapeOf = (place: number) => shapes[place % shapes.length] as (typeof shapes)[number];
  const mark = (family: Family, place: number, px: number, py: number): string =>
    family.ours
      ? `<circle class="ours" cx="${px}" cy="${py}" r="5"/>`
      : `<g class="mark" transform="translate(${px} ${py}) scale(0.75)">${shapeOf(place)(0, 0)}</g>`;
  const oursOnly = families.filter((one) => one.ours);
  const stroke = (family: Family, place: number): string => {
    const dash = dashes[(family.ours ? oursOnly.indexOf(family) : place) % dashes.length];
    return `class="${family.ours ? 'curve' : 'rule'}"${dash === '' ? '' : ` stroke-dasharray="${dash}"`}`;
  };
  const curve = (family: Family, place: number): string => {
    const points = family.points.filter(drawn);
    return points.length < 2
      ? ''
      : `<path ${stroke(family, place)} d="M${points.map((one) => `${x(looksOf(one))} ${y(hoursOf(one).mean)}`).join('L')}"/>`;
  };
  const inList = (family: Family, place: number): string => {
    const at = top + 16 + 26 * place;
    const from = width - right + 14;
    return `<path ${stroke(family, place)} d="M${from} ${at}h36"/>${mark(family, place, from + 18, at)}<text x="${from + 44}" y="${at + 4}">${escaped(inWords(family.name))}</text>`;
  };
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" role="img" aria-labelledby="title desc">`,
    `<title id="title">${title}</title>`,
    `<desc id="desc">${escaped(`${under}. ${described}.`)}</desc>`,
    '<style>text{font:13px system-ui,sans-serif;fill:#1b1b1b}.head{font-size:16px;font-weight:600}.small{font-size:12px}.axis,.mark,.bar,.curve,.rule{fill:none;stroke:#1b1b1b}.axis{stroke-width:1}.mark{stroke-width:1.5}.mark *{fill:#fff}.bar{stroke:#1a4f8b;stroke-width:1}.curve{stroke:#1a4f8b;stroke-width:3}.rule{stroke:#595959;stroke-width:1.25}.ours{fill:#1a4f8b;stroke:#fff;stroke-width:1}</style>',
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
    `<text text-anchor="middle" x="${(left + width - right) / 2}" y="${height - 18}">looks for each patient${beyond > 0 ? ` (${beyond} settings with more are not drawn)` : ''}</text>`,
    `<text text-anchor="middle" transform="translate(20 ${(top + height - bottom) / 2}) rotate(-90)">hours over the limit for each patient</text>`,
    ...families.map(curve),
    // Of one of ours alone: bars over bars can't be read.
    ...(oursOnly.at(-1)?.points ?? [])
      .filter(drawn)
      .map(
        (one) => `<path class="bar" d="M${x(looksOf(one))} ${y(hoursOf(one).low)}V${y(hoursOf(one).high)}"/>`,
      ),
    ...families.flatMap((family, place) =>
      family.points.filter(drawn).map((one) => mark(family, place, x(looksOf(one)), y(hoursOf(one).mean))),
    ),
    ...families.map(inList),
    '</svg>',
    '',
  ]
    .filter((row, index, rows) => row !== '' || index === rows.length - 1)
    .join('\n');
}
