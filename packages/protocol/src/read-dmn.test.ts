// Proves     DMN files of several versions read alike; what is no DMN, or outside our part of it, is refused by a
//            code, and only when an answer needs it; inputs of the wrong type or name are refused.
// Tolerance  exact. The public conformance cases stand in conformance/dmn.
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { answerDecision } from './answer-decision.ts';
import { readDmn } from './read-dmn.ts';

const newest = 'https://www.omg.org/spec/DMN/20230324/MODEL/';

interface TableParts {
  readonly hitPolicy?: string;
  readonly rows?: string;
  readonly output?: string;
}

const row = (id: string, test: string, value: string): string =>
  `<rule id="${id}"><inputEntry><text>${test}</text></inputEntry><outputEntry><text>${value}</text></outputEntry></rule>`;
const twoRows = row('low', '&lt;= 400', '"wait"') + row('high', '&gt;= 400', '"drain"');

function file(
  {
    hitPolicy = 'hitPolicy="UNIQUE"',
    rows = twoRows,
    output = '<output id="o" name="Step" typeRef="string" />',
  }: TableParts = {},
  namespace = newest,
  more = '',
): string {
  return `<?xml version="1.0"?><definitions xmlns="${namespace}" id="m" name="Made up" namespace="urn:made-up">
    <itemDefinition name="tTrust"><typeRef>string</typeRef><allowedValues><text>"good","doubtful"</text></allowedValues></itemDefinition>
    <inputData id="i1" name="volumeMl"><variable name="volumeMl" typeRef="number"/></inputData>
    <inputData id="i2" name="trust"><variable name="trust" typeRef="tTrust"/></inputData>
    <inputData id="i3" name="read at"><variable name="read at" typeRef="date and time"/></inputData>
    <decision id="d1" name="Step"><variable name="Step" typeRef="string"/><informationRequirement><requiredInput href="#i1"/></informationRequirement>
      <decisionTable ${hitPolicy}><input id="c1" label="volume"><inputExpression typeRef="number"><text>volumeMl</text></inputExpression></input>${output}${rows}</decisionTable></decision>
    <decision id="d2" name="Words"><variable name="Words" typeRef="string"/><informationRequirement><requiredDecision href="#d1"/></informationRequirement>
      <literalExpression><text>"Do: " + Step</text></literalExpression></decision>
    <decision id="d3" name="Exotic"><variable name="Exotic"/><context><contextEntry><literalExpression><text>1</text></literalExpression></contextEntry></context></decision>
    ${more}</definitions>`;
}

async function ask(
  xml: string,
  decision: string,
  input: Readonly<Record<string, unknown>>,
): Promise<unknown> {
  const model = await readDmn(xml);
  if (isRefusal(model)) return model.code;
  const answer = answerDecision(model, decision, input);
  return isRefusal(answer) ? answer.code : { value: answer.value, rows: answer.rows };
}

describe('reading', () => {
  it.each([
    'http://www.omg.org/spec/DMN/20180521/MODEL/',
    'https://www.omg.org/spec/DMN/20191111/MODEL/',
    'https://www.omg.org/spec/DMN/20211108/MODEL/',
    newest,
  ])('takes the namespace %s', async (namespace) => {
    expect(await ask(file({}, namespace), 'Step', { volumeMl: 300 })).toEqual({
      value: 'wait',
      rows: ['low'],
    });
  });

  it.each([
    ['nothing', ''],
    ['no XML', 'volume 240'],
    [
      'another standard',
      '<?xml version="1.0"?><definitions xmlns="http://www.omg.org/spec/BPMN/20100524/MODEL"/>',
    ],
    ['a document type declaration', `<!DOCTYPE a [<!ENTITY b "c">]>${file()}`],
    ['a huge file', `${file()}${' '.repeat(5_000_000)}`],
  ])('refuses %s', async (_name, xml) => expect(await ask(xml, 'Step', {})).toBe('protocol/not-dmn'));

  it('refuses two decisions of one name', async () => {
    expect(
      await ask(
        file({}, newest, '<inputData id="x" name="Step"><variable name="Step"/></inputData>'),
        'Step',
        {},
      ),
    ).toBe('protocol/names-repeat');
  });

  it('keeps what is outside by name, and answers the rest', async () => {
    const model = orThrow(await readDmn(file()));
    expect(model.decisions.find((one) => one.name === 'Exotic')?.logic).toEqual({
      kind: 'outside',
      what: 'a boxed context',
    });
    expect(await ask(file(), 'Exotic', {})).toBe('protocol/outside-subset');
    expect(await ask(file(), 'Words', { volumeMl: 300 })).toEqual({ value: 'Do: wait', rows: [] });
  });
});

describe('hit policies', () => {
  const hits = (hitPolicy: string, volumeMl: number, output?: string): Promise<unknown> =>
    ask(
      file({ hitPolicy: `hitPolicy="${hitPolicy}"`, ...(output === undefined ? {} : { output }) }),
      'Step',
      { volumeMl },
    );
  const ordered =
    '<output id="o" name="Step" typeRef="string"><outputValues><text>"drain","wait"</text></outputValues></output>';

  it('UNIQUE refuses two rows at exactly 400 mL', async () =>
    expect(await hits('UNIQUE', 400)).toBe('protocol/two-rows'));
  it('is UNIQUE when none is written', async () =>
    expect(await ask(file({ hitPolicy: '' }), 'Step', { volumeMl: 400 })).toBe('protocol/two-rows'));
  it('FIRST takes the first', async () =>
    expect(await hits('FIRST', 400)).toEqual({ value: 'wait', rows: ['low'] }));
  it('ANY refuses rows that differ, and names all rows that agree', async () => {
    expect(await hits('ANY', 400)).toBe('protocol/rows-differ');
    const agreeing = row('low', '&lt;= 400', '"wait"') + row('high', '&gt;= 400', '"wait"');
    expect(
      await ask(file({ hitPolicy: 'hitPolicy="ANY"', rows: agreeing }), 'Step', { volumeMl: 400 }),
    ).toEqual({ value: 'wait', rows: ['low', 'high'] });
  });
  it('PRIORITY takes the value listed first, and is refused without a list', async () => {
    expect(await hits('PRIORITY', 400, ordered)).toEqual({ value: 'drain', rows: ['high'] });
    expect(await hits('PRIORITY', 400)).toBe('protocol/outside-subset');
  });
  it.each(['RULE ORDER', 'COLLECT'])('%s gives a list, empty when none hits', async (hitPolicy) => {
    expect(await hits(hitPolicy, 400)).toEqual({ value: ['wait', 'drain'], rows: ['low', 'high'] });
    const only = row('low', '&lt;= 400', '"wait"');
    expect(
      await ask(file({ hitPolicy: `hitPolicy="${hitPolicy}"`, rows: only }), 'Step', { volumeMl: 500 }),
    ).toEqual({ value: [], rows: [] });
  });
  it.each(['hitPolicy="COLLECT" aggregation="SUM"', 'hitPolicy="OUTPUT ORDER"'])(
    '%s is outside',
    async (hitPolicy) => {
      expect(await ask(file({ hitPolicy }), 'Step', { volumeMl: 400 })).toBe('protocol/outside-subset');
    },
  );
  it('no row that hits is refused, unless the table has a default', async () => {
    const only = row('low', '&lt;= 400', '"wait"');
    expect(await ask(file({ rows: only }), 'Step', { volumeMl: 500 })).toBe('protocol/no-row');
    expect(await ask(file({ rows: only }), 'Step', {})).toBe('protocol/no-row');
    const output =
      '<output id="o" name="Step" typeRef="string"><defaultOutputEntry><text>"ask"</text></defaultOutputEntry></output>';
    expect(await ask(file({ rows: only, output }), 'Step', { volumeMl: 500 })).toEqual({
      value: 'ask',
      rows: [],
    });
    expect(await ask(file({ rows: only }), 'Words', { volumeMl: 500 })).toBe('protocol/no-row');
  });
});

describe('inputs', () => {
  it.each([
    ['a number as text', { volumeMl: '300' }, 'protocol/input-type'],
    ['a volume under another unit', { volumeCl: 30 }, 'protocol/unknown-input'],
    ['a word outside the list', { volumeMl: 300, trust: 'fair' }, 'protocol/input-not-allowed'],
    ['a time that is none', { volumeMl: 300, 'read at': 'noon' }, 'protocol/input-type'],
    ['a time with a quote in it', { volumeMl: 300, 'read at': '"+1+"' }, 'protocol/input-type'],
  ])('refuse %s', async (_name, input, code) => expect(await ask(file(), 'Step', input)).toBe(code));
  it('refuse a decision that is not there', async () =>
    expect(await ask(file(), 'Nothing', {})).toBe('protocol/no-such-decision'));
  it('refuse a circle of needs', async () => {
    const circle =
      '<decision id="a" name="A"><variable name="A"/><informationRequirement><requiredDecision href="#b"/></informationRequirement><literalExpression><text>B</text></literalExpression></decision><decision id="b" name="B"><variable name="B"/><informationRequirement><requiredDecision href="#a"/></informationRequirement><literalExpression><text>A</text></literalExpression></decision>';
    expect(await ask(file({}, newest, circle), 'A', {})).toBe('protocol/needs-itself');
  });
  it('refuse an expression that does not read', async () => {
    expect(await ask(file({ rows: row('low', '&lt;= ', '"wait"') }), 'Step', { volumeMl: 1 })).toBe(
      'protocol/expression',
    );
  });
});

describe('answers', () => {
  const decisions = [
    ['date', 'date("2026-05-14") + duration("P1D")', '2026-05-15'],
    ['time', 'time("18:30:00")', '18:30:00'],
    ['time', 'time("18:30:00Z")', '18:30:00Z'],
    ['dateTime', 'date and time("2026-05-14T18:30:00")', '2026-05-14T18:30:00'],
    ['dateTime', 'date and time("2026-05-14T18:30:00+02:00")', '2026-05-14T18:30:00+02:00'],
    ['dayTimeDuration', 'duration("PT90M")', 'PT90M'],
    ['number', '1 / 0', null],
    ['string', 'nobody', null],
  ] as const;
  it.each(decisions)('of type %s are plain: %s', async (typeRef, expression, value) => {
    const xml = `<?xml version="1.0"?><definitions xmlns="${newest}" id="m" name="m" namespace="urn:m"><decision id="d" name="D"><variable name="D" typeRef="${typeRef}"/><literalExpression><text>${expression}</text></literalExpression></decision></definitions>`;
    expect(await ask(xml, 'D', {})).toEqual({ value, rows: [] });
  });
});
