/**
 * Bugs planted in the product's own source as it is loaded: a piece of text in one file, put differently. Each is the
 * kind of slip that once happened or easily might; the simulation has to find every one.
 */
export interface Bug {
  readonly name: string;
  /** From the root of the house. */
  readonly file: string;
  /** Stands exactly once in the file. */
  readonly find: string;
  readonly put: string;
}

const sync = 'apps/web/src/shell/sync.ts';
const replica = 'apps/web/src/shell/open-replica.ts';
const local = 'apps/web/src/shell/local-store.ts';
const folded = 'apps/web/src/shell/folded-record.ts';
const memory = 'packages/store/src/memory/memory-store.ts';
const intake = 'apps/server/src/routes/entries/check-intake.ts';
const entries = 'apps/server/src/routes/entries/entries.ts';
const resolve = 'packages/core/src/facts/resolve.ts';
const ownership = 'packages/core/src/facts/ownership.ts';
const entry = 'packages/core/src/record/entry.ts';

export const bugs: readonly Bug[] = [
  // What a tablet sends.
  {
    name: 'marked as sent before it is',
    file: sync,
    find: 'const answer = await remote.send(waiting);',
    put: 'await store.sent(waiting.map(({ id }) => id)); const answer = await remote.send(waiting);',
  },
  {
    name: 'no answer taken for a yes',
    file: sync,
    find: "if (answer.state === 'signed-out') host.signedOut();\n        if (answer.state === 'away') host.away();",
    put: "if (answer.state === 'signed-out') host.signedOut();\n        if (answer.state === 'away') { host.away(); await store.sent(waiting.map(({ id }) => id)); }",
  },
  {
    name: 'signed out taken for a yes',
    file: sync,
    find: "if (answer.state === 'signed-out') host.signedOut();\n        if (answer.state === 'away') host.away();",
    put: "if (answer.state === 'signed-out') { host.signedOut(); await store.sent(waiting.map(({ id }) => id)); }\n        if (answer.state === 'away') host.away();",
  },
  {
    name: 'refused entries counted as kept',
    file: sync,
    find: 'const keptIds = answer.value.kept.map((one) => one.id);',
    put: 'const keptIds = waiting.map((one) => one.id);',
  },
  {
    name: 'a refused entry dropped without a word',
    file: sync,
    find: 'await store.refuse(entry, refusal);',
    put: 'await store.sent([entry.id]);',
  },
  {
    name: 'a save beside the reading of the queue forgotten',
    file: sync,
    find: 'if (sendAgain) continue;',
    put: '',
  },
  {
    name: 'a browser that could not write never sends again',
    file: sync,
    find: '    } catch {\n      // This browser could not read or write just now. What is in the queue stays there, and is sent again.\n      sendLater();',
    put: '    } catch {',
  },
  // What a tablet reads.
  {
    name: 'the cursor moved before the entries are kept',
    file: sync,
    find: 'await store.keepReceived(plain);',
    put: 'await moveCursor(Math.max(through ?? 0, ...entries.map((kept) => kept.sequence))); await store.keepReceived(plain);',
  },
  {
    name: 'a page of entries not kept',
    file: sync,
    find: 'await store.keepReceived(plain);',
    put: '',
  },
  { name: 'a page of entries not shown', file: sync, find: 'host.received(plain);', put: '' },
  {
    name: 'a live entry not kept',
    file: sync,
    find: 'await store.keepReceived([kept.entry]);',
    put: '',
  },
  {
    name: 'a live entry not shown',
    file: sync,
    find: 'host.received([kept.entry]);',
    put: '',
  },
  {
    name: 'a gap in the live line overlooked',
    file: sync,
    find: 'if (before > cursor || (after === undefined && kept.sequence !== cursor + 1)) {',
    put: 'if (cursor < 0) {',
  },
  {
    name: 'one too far',
    file: sync,
    find: "await store.writeNote('cursor', then);",
    put: "await store.writeNote('cursor', then + 1);",
  },
  {
    name: 'begun at the second entry',
    file: sync,
    find: '?? 0;\n    scope =',
    put: '?? 1;\n    scope =',
  },
  {
    name: 'a cursor kept over what was not written',
    file: sync,
    find: 'if (notWritten !== faultsBefore) return false;',
    put: '',
  },
  {
    name: 'a cursor not put back',
    file: sync,
    find: 'cursor = Math.max(0, Math.min(cursor, before - 1));',
    put: '',
  },
  {
    name: 'a sign of life not compared',
    file: sync,
    find: 'if (head > cursor) void read();',
    put: '',
  },
  {
    name: 'a broken line not opened again',
    file: sync,
    find: 'host.away();\n          retry();',
    put: 'host.away();',
  },
  {
    name: 'a silent line waited for',
    file: sync,
    find: 'if (!stopped && closeLive) void listen();',
    put: '',
  },
  {
    name: 'a line that never opened waited for',
    file: sync,
    find: '    // A line that neither opens nor breaks is given up like a silent one.\n    watchLine();',
    put: '',
  },
  // The replica.
  {
    name: 'called saved before it is kept',
    file: replica,
    find: 'await store.keepOwn(entries);',
    put: 'void store.keepOwn(entries).catch(() => undefined);',
  },
  {
    name: 'sent under another name',
    file: replica,
    find: 'entry.author === me.id && !registrationWaits(entry)',
    put: '!registrationWaits(entry)',
  },
  {
    name: 'sent before the registration of a colleague',
    file: replica,
    find: '&& !registrationWaits(entry)',
    put: '',
  },
  {
    name: 'ids that two entries of a moment share',
    file: replica,
    find: 'id: draft.id ?? uuidV7(atMs, options.random(10)),',
    put: 'id: draft.id ?? uuidV7(atMs, new Uint8Array(10)),',
  },
  {
    name: 'an empty page after a reload',
    file: replica,
    find: 'record.add(await store.entries());',
    put: '',
  },
  {
    name: 'counted as waiting after it was sent',
    file: replica,
    find: 'for (const id of ids) unsent.delete(id);',
    put: '',
  },
  {
    name: 'kept and not queued',
    file: local,
    find: 'if (!entries.has(entry.id)) entries.set(entry.id, entry);\n        unsent.set(entry.id, entry);',
    put: 'if (!entries.has(entry.id)) entries.set(entry.id, entry);',
  },
  {
    name: 'a refused entry still in the queue',
    file: local,
    find: 'unsent.delete(entry.id);\n      refused.set',
    put: 'refused.set',
  },
  {
    name: 'what came twice shown twice',
    file: folded,
    find: 'const fresh = more.filter((entry) => !byId.has(entry.id));',
    put: 'const fresh = [...more];',
  },
  {
    name: 'a correction from elsewhere not grouped',
    file: folded,
    find: 'whole ||= touchesOthers(entry) || named.has(entry.id) || reliesOn(entry, named);',
    put: '',
  },
  {
    name: 'advice on a moved entry not grouped',
    file: folded,
    find: ' || reliesOn(entry, named);',
    put: ';',
  },
  {
    name: 'facts of before a change shown after it',
    file: folded,
    find: '  function changed(patient: string): void {\n    facts.delete(patient);',
    put: '  function changed(patient: string): void {',
  },
  // The store and the server.
  {
    name: 'a second arrival kept as a second entry',
    file: memory,
    find: "if (before && controlIsOn('H5-idempotent')) {",
    put: 'if (before && entries.length < 0) {',
  },
  {
    name: 'one number for a whole append',
    file: memory,
    find: 'const sequence = entries.length + newEntries.size + 1;',
    put: 'const sequence = entries.length + 1;',
  },
  {
    name: 'links of one append from the same place',
    file: memory,
    find: 'newAudit.at(-1) ?? audit.at(-1)',
    put: 'audit.at(-1)',
  },
  {
    name: 'a registration in the same batch not seen',
    file: intake,
    find: 'registering.has(patient) || ',
    put: '',
  },
  {
    name: 'a batch kept under its first patient',
    file: entries,
    find: 'const result = await store.append(intake.accepted, {',
    put: 'const result = await store.append(intake.accepted.map((one) => ({ ...one, patient: intake.accepted[0]?.patient ?? one.patient })), {',
  },
  {
    name: 'answered before it is kept',
    file: entries,
    find: 'const result = await store.append(intake.accepted, {',
    put: 'void store.append(intake.accepted, { receivedAt: instantOfMs(nowMs), actor: actor.id }).catch(() => undefined);\n      const result = ((_: unknown) => ({ kept: intake.accepted.map((entry) => ({ entry, sequence: 1, receivedAt: instantOfMs(nowMs), known: false })), refused: [] as { id: string; refusal: never }[] }))({',
  },
  // What is true.
  {
    name: 'the first of two changes wins',
    file: resolve,
    find: 'byRecording(a, b) < 0 ? b : a',
    put: 'byRecording(a, b) < 0 ? a : b',
  },
  {
    name: 'a move that was withdrawn still moves',
    file: resolve,
    find: 'for (const one of moves.get(id) ?? []) {\n      if (!withdrawnBy(one.id, 0)) winner',
    put: 'for (const one of moves.get(id) ?? []) {\n      winner',
  },
  {
    name: 'a correction that was withdrawn still corrects',
    file: resolve,
    find: 'for (const one of corrections.get(id) ?? []) {\n      if (!withdrawnBy(one.id, 0)) winner',
    put: 'for (const one of corrections.get(id) ?? []) {\n      winner',
  },
  {
    name: 'a correction left behind by a move',
    file: resolve,
    find: 'if (corrected && depth < 32 && corrected.patient === entry.patient)',
    put: 'if (corrected && depth < 0)',
  },
  {
    name: 'a withdrawal that was withdrawn still holds',
    file: resolve,
    find: 'if (depth < 8 && withdrawnBy(one.id, depth + 1)) continue;',
    put: '',
  },
  {
    name: 'a moved entry out of the new course',
    file: resolve,
    find: 'if (isAmendment(entry)) link(entry.id, entry.payload.of);',
    put: '',
  },
  {
    name: 'an offer by name taken by anybody',
    file: ownership,
    find: "if (byName && controlIsOn('H13-by-name')) continue;",
    put: '',
  },
  {
    name: 'an offer that outlives its giver',
    file: ownership,
    find: 'for (const [id, one] of open) if (!sameOwner(one.from, owner)) open.delete(id);',
    put: '',
  },
  {
    name: 'the writer taken for the owner',
    file: ownership,
    find: 'entry.payload.owner ?? entry.author',
    put: 'entry.author',
  },
  {
    name: 'an open watch taken by whoever accepts nothing',
    file: ownership,
    find: 'if (!offered) continue;',
    put: "if (!offered) { pass({ kind: 'person', person: entry.author }, atMs, entry.id); continue; }",
  },
  {
    name: 'counted in the order of writing down',
    file: entry,
    find: 'instantMs(a.effectiveAt) - instantMs(b.effectiveAt) ||\n    instantMs(a.recordedAt)',
    put: 'instantMs(a.recordedAt)',
  },
];
