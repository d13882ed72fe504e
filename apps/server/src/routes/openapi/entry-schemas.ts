/** The entry's schema for the API's description, made from the record's own shapes so that the two cannot differ. */
import { shapes } from '@ebbline/core/quantity';
import {
  copiedFromPlaces,
  entryKinds,
  payloadShapes,
  timeQualities,
  type EntryKind,
} from '@ebbline/core/record';

type Schema = Record<string, unknown>;

const nameOf = (kind: EntryKind): string =>
  kind
    .split('-')
    .map((word) => word.charAt(0).toUpperCase() + word.slice(1))
    .join('');

const id = shapes.entryId().jsonSchema;
const instant = shapes.instant().jsonSchema;
const text = shapes.text(120).jsonSchema;

function entrySchema(kind: EntryKind): Schema {
  return {
    type: 'object',
    properties: {
      id,
      organisation: text,
      patient: text,
      kind: { const: kind },
      effectiveAt: instant,
      timeQuality: { type: 'string', enum: timeQualities, default: 'exact' },
      recordedAt: instant,
      author: text,
      madeOn: text,
      corrects: id,
      copiedFrom: { type: 'string', enum: copiedFromPlaces },
      payload: payloadShapes[kind].jsonSchema,
    },
    required: [
      'id',
      'organisation',
      'patient',
      'kind',
      'effectiveAt',
      'recordedAt',
      'author',
      'madeOn',
      'payload',
    ],
    additionalProperties: false,
  };
}

function entrySchemas(): Record<string, Schema> {
  const reference = (kind: EntryKind): string => `#/components/schemas/Entry${nameOf(kind)}`;
  return {
    ...Object.fromEntries(entryKinds.map((kind) => [`Entry${nameOf(kind)}`, entrySchema(kind)])),
    Entry: {
      oneOf: entryKinds.map((kind) => ({ $ref: reference(kind) })),
      discriminator: {
        propertyName: 'kind',
        mapping: Object.fromEntries(entryKinds.map((kind) => [kind, reference(kind)])),
      },
    },
    KeptEntry: {
      type: 'object',
      properties: {
        entry: { $ref: '#/components/schemas/Entry' },
        receivedAt: instant,
        sequence: { type: 'integer', minimum: 1 },
      },
      required: ['entry', 'receivedAt', 'sequence'],
      additionalProperties: false,
    },
  };
}

/** Puts the record's schemas where the routes leave entries open. */
export function withEntrySchemas(document: Schema): Schema {
  const components = (document['components'] ?? {}) as Schema;
  const schemas = { ...(components['schemas'] as Schema | undefined), ...entrySchemas() };
  const filled = structuredClone({ ...document, components: { ...components, schemas } }) as Schema;
  const at = (...path: string[]): Schema | undefined =>
    path.reduce<Schema | undefined>((place, name) => place?.[name] as Schema | undefined, filled);
  const entries = at('paths', '/api/entries');
  if (entries) {
    const body = at(
      'paths',
      '/api/entries',
      'post',
      'requestBody',
      'content',
      'application/json',
      'schema',
      'properties',
      'entries',
    );
    if (body) body['items'] = { $ref: '#/components/schemas/Entry' };
    const answer = at(
      'paths',
      '/api/entries',
      'get',
      'responses',
      '200',
      'content',
      'application/json',
      'schema',
      'properties',
      'entries',
    );
    if (answer) answer['items'] = { $ref: '#/components/schemas/KeptEntry' };
  }
  return filled;
}
