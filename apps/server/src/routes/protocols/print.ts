/** A protocol to take away: its flow sheet and its tables as PDF, the whole as a FHIR PlanDefinition. No patient is in it. */
import { z } from 'zod';
import { instantOfMs, isRefusal } from '@ebbline/core/quantity';
import { starterProtocols, type CompiledProtocol, type ProtocolVersion } from '@ebbline/protocol';
import { AnswerError, refusalBody, sendPdf } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { ofWard, viewers } from '../../rules.ts';
import { unknownVersion } from './protocols.ts';

const word = z.string().min(1).max(120);
const params = z.strictObject({ id: word, version: z.coerce.number().int().min(1).max(100_000) });
/** The ward whose clock the sheet goes by; of a version, its own ward's. */
const querystring = z.strictObject({ ward: word.optional() });

interface Found {
  readonly protocol: CompiledProtocol;
  readonly version?: ProtocolVersion;
}

export function protocolPrintRoutes(app: App, parts: Parts): void {
  const { protocols, directory, now, store } = parts;

  const find = ({ id, version }: z.output<typeof params>): Found => {
    const same = (one: CompiledProtocol): boolean => one.id === id && one.version === version;
    const sent = protocols.versions().find((one) => same(one.protocol));
    if (sent) return { protocol: sent.protocol, version: sent };
    const example = starterProtocols.find(same);
    if (example) return { protocol: example };
    throw new AnswerError(404, unknownVersion());
  };
  const zoneOf = ({ version }: Found, ward: string | undefined): string => {
    const { wards } = directory.current();
    return (wards.find((one) => one.id === (version?.ward ?? ward)) ?? wards[0])?.zone ?? 'UTC';
  };
  const noteTaken = (what: string, { protocol }: Found, actor: string, nowMs: number): Promise<void> =>
    store.note({
      at: instantOfMs(nowMs),
      actor,
      action: 'exported',
      subject: `${what} ${protocol.id} ${protocol.version}`,
    });

  for (const form of ['flow-sheet', 'tables'] as const)
    app.route({
      method: 'GET',
      url: `/api/protocols/:id/:version/${form}.pdf`,
      config: { rule: ofWard(viewers('protocol'), 'query') },
      schema: {
        tags: ['protocols'],
        description:
          form === 'tables'
            ? 'All tables of a protocol as PDF.'
            : 'A protocol as PDF on one page. Marked as an example until it is signed.',
        params,
        querystring,
        response: { 404: refusalBody },
      },
      handler: async (request, reply) => {
        const nowMs = now();
        const found = find(request.params);
        const { flowSheetPdf, protocolTablesPdf } = await import('@ebbline/interop/pdf');
        const bytes = await (form === 'tables' ? protocolTablesPdf : flowSheetPdf)({
          protocol: found.protocol,
          ...(found.version?.retired ? { retired: found.version.retired } : {}),
          zone: zoneOf(found, request.query.ward),
          printedAtMs: nowMs,
        });
        await noteTaken(`${form}.pdf`, found, request.actor?.id ?? '', nowMs);
        return sendPdf(reply, form, bytes);
      },
    });

  app.route({
    method: 'GET',
    url: '/api/protocols/:id/:version/plan-definition',
    config: { rule: ofWard(viewers('protocol'), 'query') },
    schema: {
      tags: ['exchange'],
      description: 'A protocol as a FHIR R4 PlanDefinition: a draft until it is signed, retired when it is.',
      params,
      querystring,
      response: { 404: refusalBody, 422: refusalBody },
    },
    handler: async (request, reply) => {
      const nowMs = now();
      const found = find(request.params);
      const { planDefinition } = await import('@ebbline/interop/fhir');
      const plan = planDefinition({
        protocol: found.protocol,
        ...(found.version?.retired ? { retired: true } : {}),
        zone: zoneOf(found, request.query.ward),
      });
      if (isRefusal(plan)) throw new AnswerError(422, plan);
      await noteTaken('plan-definition', found, request.actor?.id ?? '', nowMs);
      return reply.type('application/fhir+json; charset=utf-8').send(JSON.stringify(plan) as never);
    },
  });
}
