/**
 * A whole protocol as a FHIR R4 PlanDefinition, from the very tables that answer at the bedside: one action a row, of which
 * exactly one applies. Until somebody has signed it, it is a draft and says that it is an example.
 *
 * Domain    protocols of tables in which one row fits; tables in which the first counts only while few follow each other,
 *           since each row has to say that no row above it fits
 * Errors    fhir/plan-too-large
 * Source    S-fhir-r4
 */
import {
  calendarDay,
  instantInZone,
  instantMs,
  refuse,
  uuidOfText,
  type Refusal,
} from '@ebbline/core/quantity';
import type { Advice, Role, Step } from '@ebbline/core/record';
import { labels, standingCaution } from '@ebbline/core/present';
import {
  dictionary,
  rowWords,
  type CompiledProtocol,
  type CompiledTable,
  type Scalar,
} from '@ebbline/protocol';
import { wordConcept } from './codes.ts';
import { rowConditions } from './plan-conditions.ts';
import { planUrl } from './plan-url.ts';
import { quantity, resource, type Resource } from './resource.ts';

export interface PlanDefinitionInput {
  readonly protocol: CompiledProtocol;
  /** Who has signed this version; the protocol's own when left out. */
  readonly approval?: Advice['protocol']['approval'];
  /** True for a version that no longer holds. */
  readonly retired?: boolean;
  readonly zone: string;
}

const camel = (id: string): string =>
  id.replaceAll(/(?:^|[^A-Za-z0-9]+)([A-Za-z0-9])/g, (_all, letter: string) => letter.toUpperCase());

/** FHIR's duration, its unit as text and as a UCUM code. */
const minutes = (value: number): Record<string, unknown> => ({ ...quantity(value, 'min') });

export function planDefinition({
  protocol,
  approval: given,
  retired,
  zone,
}: PlanDefinitionInput): Resource | Refusal {
  const tooLarge = firstCountsTooOften(protocol);
  if (tooLarge) return tooLarge;
  const approval = given ?? protocol.approval;
  const signed = approval === 'example-not-approved' ? undefined : approval;
  const asked = [...new Set(protocol.tables.flatMap((table) => table.inputs))].filter((name) =>
    Object.hasOwn(dictionary, name),
  );
  return resource('PlanDefinition', uuidOfText(`plan:${protocol.id}:${protocol.version}`), {
    url: planUrl(protocol.id),
    version: String(protocol.version),
    name: camel(protocol.id),
    title: signed ? protocol.title : `${protocol.title} (example, not approved)`,
    type: {
      coding: [
        {
          system: 'http://terminology.hl7.org/CodeSystem/plan-definition-type',
          code: 'clinical-protocol',
          display: 'Clinical Protocol',
        },
      ],
      text: 'Clinical protocol',
    },
    status: retired === true ? 'retired' : signed ? 'active' : 'draft',
    experimental: !signed,
    ...(signed
      ? {
          date: instantInZone(instantMs(signed.on), zone),
          approvalDate: calendarDay(instantMs(signed.on), zone),
          effectivePeriod: { start: calendarDay(instantMs(signed.on), zone), end: signed.reviewBy },
          endorser: [{ name: `${signed.signedBy}, ${labels.roles[signed.role].toLowerCase()}` }],
        }
      : {}),
    description: standingCaution,
    useContext: protocol.settings.map((setting) => ({
      code: {
        system: 'http://terminology.hl7.org/CodeSystem/usage-context-type',
        code: 'focus',
        display: 'Clinical Focus',
      },
      valueCodeableConcept: wordConcept(
        'setting',
        setting,
        labels.settings[setting as keyof typeof labels.settings],
      ),
    })),
    usage: `Exactly one action applies. Its conditions are FHIRPath over these inputs, each one value or nothing: ${asked
      .map((name) => `%${name} (${dictionary[name as keyof typeof dictionary].sentence})`)
      .join(' ')} For ages: ${protocol.ageBands.join(', ')}.`,
    action: [
      {
        title: 'What next, by when, by whom',
        groupingBehavior: 'logical-group',
        selectionBehavior: 'exactly-one',
        action: actionsOf(protocol),
      },
    ],
  });
}

/** Rows of tables in which the first counts, multiplied along the chain; above this the conditions grow to megabytes. */
const mostFirstRows = 1000;

function firstCountsTooOften({ title, tables }: CompiledProtocol): Refusal | undefined {
  const rows = tables
    .filter((table) => table.hitPolicy === 'FIRST')
    .reduce((product, table) => product * Math.max(1, table.rows.length), 1);
  if (rows <= mostFirstRows) return undefined;
  return refuse('fhir/plan-too-large', {
    asked: 'PlanDefinition',
    found: `"${title}", whose tables in which the first row counts follow each other`,
    allowed: `tables in which exactly one row fits, or at most ${mostFirstRows} rows of the others, multiplied`,
    todo: 'Write the rows so that exactly one fits, or send the DMN file instead.',
  });
}

function actionsOf(protocol: CompiledProtocol): readonly Record<string, unknown>[] {
  const last = protocol.tables.at(-1) as CompiledTable;
  const conditions = rowConditions(protocol);
  return last.rows.map((row) => {
    const value = (name: string): Scalar => row.values[last.outputs.indexOf(name)] ?? null;
    const words = (name: string): string | undefined => {
      const said = value(name);
      return typeof said === 'string' && said.trim() !== '' ? said : undefined;
    };
    const step = String(value('step'));
    const role = String(value('ownerRole'));
    const due = Number(value('dueInMin'));
    const latest = value('noLaterThanMin');
    const when = rowWords(last.inputs, row.tests);
    const tell = words('tell');
    const record = words('record');
    return {
      prefix: row.id,
      title: labels.steps[step as Step] ?? step,
      description: words('why'),
      textEquivalent: [
        `When: ${when === '' ? 'anything else' : when}.`,
        tell === undefined ? '' : `Tell: ${tell}.`,
        record === undefined ? '' : `Write down: ${record}.`,
      ]
        .filter((one) => one !== '')
        .join(' '),
      priority: due === 0 ? 'stat' : undefined,
      code: [wordConcept('step', step, labels.steps[step as Step] ?? step)],
      documentation: (words('sourceId') ?? '')
        .split(',')
        .map((source) => source.trim())
        .filter((source) => source !== '')
        .map((label) => ({ type: 'justification', label, display: label })),
      condition: (conditions.get(row.id) ?? []).map(({ about, expression }) => ({
        kind: 'applicability',
        expression: { description: about, language: 'text/fhirpath', expression },
      })),
      ...(typeof latest === 'number'
        ? { timingRange: { low: minutes(due), high: minutes(latest) } }
        : { timingDuration: minutes(due) }),
      participant: [
        { type: 'practitioner', role: wordConcept('role', role, labels.roles[role as Role] ?? role) },
      ],
    };
  });
}
