/**
 * The life of a ward's protocols: sent for signing, signed and published, retired. Whatever comes is read and proved
 * here before it is kept, and once more before it is published: nothing that a tablet says of a proof is taken for it.
 */
import { z } from 'zod';
import { controlIsOn, instantOfMs, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import type { Person, Signature, Ward } from '@ebbline/core/record';
import {
  compileProtocol,
  nextVersion,
  proofRefusal,
  readDmn,
  signerRefusal,
  signingRefusal,
  writeDmn,
  type CompiledProtocol,
  type DmnModel,
  type ProtocolAct,
  type ProtocolVersion,
} from '@ebbline/protocol';
import { confirmPin } from '../../accounts/confirm-pin.ts';
import { AnswerError, refusalBody } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { contentDigestOf } from '../../protocol-book.ts';
import { proveAside } from '../../prove.ts';
import { ofWard, viewers, type Actor } from '../../rules.ts';
import { unknownWard } from '../reports/unknown.ts';

const word = z.string().min(1).max(120);
const pin = z.string().min(1).max(40);
const place = z.strictObject({ id: word, version: z.coerce.number().int().min(1).max(100_000) });
const digest = z.string().regex(/^[0-9a-f]{64}$/, 'a SHA-256 in hex');
const versionShape = z.custom<ProtocolVersion>();
const refusals = { 400: refusalBody, 401: refusalBody, 403: refusalBody, 404: refusalBody, 422: refusalBody };

const no = (status: number, refusal: Refusal): never => {
  throw new AnswerError(status, refusal);
};
const orRefuse = <Value>(value: Value | Refusal): Value => (isRefusal(value) ? no(422, value) : value);

/** The one place where a content is taken for good: read, compiled, proved, or refused. */
async function provedOf(
  dmn: string,
): Promise<{ readonly model: DmnModel; readonly protocol: CompiledProtocol }> {
  const model = orRefuse(await readDmn(dmn));
  const protocol = orRefuse(compileProtocol(model));
  const refused = controlIsOn('H6-proved-again')
    ? proofRefusal(protocol, await proveAside(protocol))
    : undefined;
  return refused ? no(422, refused) : { model, protocol };
}

/** Runs works one after the other: what one has seen of the book still stands when it adds to it. */
function oneByOne(): <Value>(work: () => Promise<Value>) => Promise<Value> {
  let turn: Promise<unknown> = Promise.resolve();
  return (work) => {
    const mine = turn.then(work);
    turn = mine.catch(() => undefined);
    return mine;
  };
}

export function protocolRoutes(app: App, parts: Parts): void {
  const { protocols, directory, store, live, now } = parts;
  const inTurn = oneByOne();
  const wardOf = (id: string): Ward =>
    directory.current().wards.find((one) => one.id === id) ?? no(404, unknownWard());
  const personOf = (actor: Actor | undefined): Person =>
    actor?.kind === 'person' ? actor.person : no(403, notAPerson());
  const signatureOf = ({ id, name, role }: Person, nowMs: number): Signature => ({
    person: id,
    name,
    role,
    at: instantOfMs(nowMs),
  });
  const versionOf = ({ id, version }: z.output<typeof place>): ProtocolVersion =>
    protocols.versions().find((one) => one.protocol.id === id && one.protocol.version === version) ??
    no(404, unknownVersion());
  const keep = async (acts: readonly ProtocolAct[], nowMs: number): Promise<void> => {
    await protocols.add(acts);
    for (const { act, by, id, version } of acts)
      await store.note({
        at: instantOfMs(nowMs),
        actor: by.person,
        action: `protocol-${act}`,
        subject: `${id} ${version}`,
      });
    await live.beat(nowMs);
  };

  app.route({
    method: 'GET',
    url: '/api/protocols',
    // Whoever records is advised on the tablet, so that the tables go to all of them.
    config: { rule: viewers('board', 'patient', 'protocol') },
    schema: {
      tags: ['protocols'],
      description:
        'Every version that was sent, with its tables, who signed it and until when. `acts` grows with each change.',
      response: { 200: z.object({ acts: z.number().int(), versions: z.array(versionShape) }) },
    },
    handler: async () => ({ acts: protocols.count(), versions: [...protocols.versions()] }),
  });

  app.route({
    method: 'GET',
    url: '/api/protocols/:id/:version/dmn',
    config: { rule: viewers('protocol') },
    schema: {
      tags: ['protocols'],
      description: 'A version as DMN 1.3 XML, as it was sent.',
      params: place,
      response: { 200: z.string(), 404: refusalBody },
    },
    handler: async (request, reply) => {
      const dmn = protocols.dmnOf(request.params.id, request.params.version) ?? no(404, unknownVersion());
      void reply.type('application/xml; charset=utf-8');
      return dmn;
    },
  });

  app.route({
    method: 'POST',
    url: '/api/protocols',
    config: { rule: ofWard(viewers('protocol'), 'body') },
    schema: {
      tags: ['protocols'],
      description:
        'Sends a draft for signing, as DMN XML. Refused unless every possible patient gets one safe answer. It gets the next free number.',
      body: z.strictObject({ ward: word, dmn: z.string().min(1).max(900_000) }),
      response: {
        200: z.object({ id: word, version: z.number().int(), contentDigest: digest }),
        ...refusals,
      },
    },
    handler: async (request) => {
      const person = personOf(request.actor);
      const ward = wardOf(request.body.ward);
      if (!person.wards.includes(ward.id)) no(403, otherWard());
      const { model, protocol } = await provedOf(request.body.dmn);
      if (!/^[\w-]{1,80}$/.test(protocol.id)) no(422, badName(protocol.id));
      return inTurn(async () => {
        const nowMs = now();
        const version = nextVersion(protocols.versions(), protocol.id);
        const dmn = orRefuse(
          await writeDmn({ ...model, protocol: { ...model.protocol, version: String(version) } }),
        );
        const contentDigest = contentDigestOf(dmn);
        await keep(
          [
            {
              act: 'sent',
              id: protocol.id,
              version,
              ward: ward.id,
              dmn,
              contentDigest,
              by: signatureOf(person, nowMs),
            },
          ],
          nowMs,
        );
        return { id: protocol.id, version, contentDigest };
      });
    },
  });

  app.route({
    method: 'POST',
    url: '/api/protocols/:id/:version/publish',
    config: { rule: viewers('protocol') },
    schema: {
      tags: ['protocols'],
      description:
        'Signs and publishes a version, with the PIN of who signs. It is proved again first. A version of the same ward whose settings it covers retires.',
      params: place,
      body: z.strictObject({ contentDigest: digest, reviewBy: word, pin }),
      response: { 200: z.object({ published: z.literal(true) }), ...refusals },
    },
    handler: async (request) => {
      const signer = personOf(request.actor);
      const version = versionOf(request.params);
      const ward = wardOf(version.ward);
      const nowMs = now();
      const { reviewBy, contentDigest } = request.body;
      const refused = signingRefusal({
        version,
        signer,
        reviewBy,
        settings: ward.settings,
        nowMs,
        zone: ward.zone,
      });
      if (refused) no(refused.code === 'protocol/not-a-signer' ? 403 : 422, refused);
      if (contentDigest !== version.contentDigest) no(422, otherContent());
      const { id, version: number } = version.protocol;
      const dmn = protocols.dmnOf(id, number) ?? no(404, unknownVersion());
      await confirmPin(parts, signer, request.body.pin);
      await provedOf(dmn);
      return inTurn(async () => {
        // Nobody else may have published or retired it while the proof ran.
        if (versionOf(request.params).state !== 'proved') no(422, changedMeanwhile());
        const by = signatureOf(signer, nowMs);
        const replaced = protocols
          .versions()
          .filter(
            (one) =>
              one.state === 'published' &&
              one.ward === ward.id &&
              one.protocol.settings.every((setting) => version.protocol.settings.includes(setting)),
          );
        await keep(
          [
            { act: 'published', id, version: number, contentDigest, reviewBy, by },
            ...replaced.map(({ protocol }): ProtocolAct => ({
              act: 'retired',
              id: protocol.id,
              version: protocol.version,
              reason: `${version.protocol.title}, version ${number}, took its place.`,
              ...(protocol.id === id ? { replacedBy: number } : {}),
              by,
            })),
          ],
          nowMs,
        );
        return { published: true as const };
      });
    },
  });

  app.route({
    method: 'POST',
    url: '/api/protocols/:id/:version/retire',
    config: { rule: viewers('protocol') },
    schema: {
      tags: ['protocols'],
      description:
        'Retires a published version, or takes back one that waits for a signature; who sent it may take it back too. Watches under it keep it until they are moved.',
      params: place,
      body: z.strictObject({ reason: z.string().trim().min(3).max(600), pin }),
      response: { 200: z.object({ retired: z.literal(true) }), ...refusals },
    },
    handler: async (request) => {
      const person = personOf(request.actor);
      const version = versionOf(request.params);
      const own = version.state === 'proved' && version.sent.person === person.id;
      const refused = own ? undefined : signerRefusal(version.ward, person);
      if (refused) no(refused.code === 'protocol/not-a-signer' ? 403 : 422, refused);
      if (version.state === 'retired') no(422, changedMeanwhile());
      await confirmPin(parts, person, request.body.pin);
      return inTurn(async () => {
        if (versionOf(request.params).state === 'retired') no(422, changedMeanwhile());
        const nowMs = now();
        const { id, version: number } = version.protocol;
        await keep(
          [
            {
              act: 'retired',
              id,
              version: number,
              reason: request.body.reason,
              by: signatureOf(person, nowMs),
            },
          ],
          nowMs,
        );
        return { retired: true as const };
      });
    },
  });
}

const notAPerson = (): Refusal =>
  refuse('server/not-a-person', {
    asked: 'Protocol',
    found: 'a machine with a token',
    allowed: 'a signed-in person',
    todo: 'Sign in as yourself.',
  });

const otherWard = (): Refusal =>
  refuse('protocol/other-ward', {
    asked: 'Protocol',
    found: 'a ward that is not yours',
    allowed: 'protocols of your own wards',
    todo: 'Ask somebody of that ward to send it.',
  });

const badName = (id: string): Refusal =>
  refuse('protocol/not-a-protocol', {
    asked: 'Protocol',
    found: `the id "${id.slice(0, 40)}"`,
    allowed: 'letters, digits, dashes and underscores, at most 80',
    todo: 'Give the file such an id.',
    where: 'id',
  });

export const unknownVersion = (): Refusal =>
  refuse('server/unknown-version', {
    asked: 'Protocol',
    found: 'a version that was never sent',
    allowed: 'a version of GET /api/protocols',
    todo: 'Open the list of protocols again.',
  });

const otherContent = (): Refusal =>
  refuse('protocol/other-content', {
    asked: 'Signature',
    found: 'another content than the one that was sent',
    allowed: 'the content that the signer has read',
    todo: 'Open the version again and read it before you sign.',
  });

const changedMeanwhile = (): Refusal =>
  refuse('protocol/not-waiting', {
    asked: 'Protocol',
    found: 'a version that somebody has published or retired already',
    allowed: 'a version as it stands',
    todo: 'Open the list of protocols again.',
  });
