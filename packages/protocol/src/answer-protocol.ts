import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { lookSteps, stepNames, type Advice, type Role, type Step } from './advice.ts';
import { chainTrouble } from './chain.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import { answerTable, type CompiledAnswer } from './compile-table.ts';
import { readInput, type ProtocolInput } from './dictionary.ts';
import { brokenLaw, rawOf, mixesChildren } from './safety-laws.ts';

/** A look brought forward by the forecast is still this far away, so that looking can be done (unit choice, S-protocol-shortest-look). */
export const shortestLookMin = 15;

/**
 * What the protocol says next: one step, when, whose, why, by which row.
 *
 * The tables answer first. Then a second lock refuses an answer that breaks a safety law, and a look is brought
 * forward, never put back, when the limit could be reached before it.
 *
 * Errors    those of `readInput` · protocol/adults-only · protocol/other-setting · protocol/no-row ·
 *           protocol/two-rows · protocol/unsafe-answer · protocol/chain-does-not-end
 * Not for   children, unless the protocol was written for them
 */
export function answerProtocol(protocol: CompiledProtocol, given: ProtocolInput): Advice | Refusal {
  const read = readInput(given);
  if (isRefusal(read)) return read;
  const trouble = notForThisPerson(protocol, read);
  if (trouble) return trouble;
  const endless = chainTrouble(protocol.tables);
  if (endless) return endless;
  const input = countAtLimitAsOver(read);
  const context: Record<string, unknown> = { ...input };
  const trace: string[] = [];
  let last: CompiledAnswer | undefined;
  for (const table of protocol.tables) {
    const answer = answerTable(table, context);
    if (isRefusal(answer)) return answer;
    trace.push(answer.rowId);
    const [only] = table.outputs;
    if (table.outputs.length === 1 && only !== undefined) context[table.decision] = answer.values[only];
    last = answer;
  }
  if (!last)
    return refuse('protocol/no-row', {
      asked: 'Protocol',
      found: 'no table',
      allowed: 'a table that gives the advice',
      todo: 'Decide without the protocol now.',
    });
  const { values, rowId } = last;
  const unsafe = brokenLaw(input, rawOf(values), rowId);
  if (unsafe) return unsafe;
  const step = values['step'] as Step;
  const text = String(values['why']);
  const due = dueBeforeCrossing(step, Number(values['dueInMin']), input.crossingInMin);
  return {
    step,
    dueInMin: due.dueInMin,
    // A look that was brought forward has its time; the row's range no longer stands.
    ...(typeof values['noLaterThanMin'] === 'number' && due.forward === undefined
      ? { noLaterThanMin: values['noLaterThanMin'] }
      : {}),
    ownerRole: values['ownerRole'] as Role,
    ...(typeof values['tell'] === 'string' ? { tell: values['tell'] } : {}),
    why: due.forward === undefined ? text : `${text} ${due.forward}`,
    ...(typeof values['record'] === 'string' ? { record: values['record'] } : {}),
    row: { id: rowId, text, sourceId: String(values['sourceId'] ?? 'unit choice') },
    protocol: {
      id: protocol.id,
      version: protocol.version,
      title: protocol.title,
      approval: protocol.approval,
    },
    trace,
  };
}

function notForThisPerson(protocol: CompiledProtocol, input: ProtocolInput): Refusal | undefined {
  const others = !protocol.ageBands.includes(input.ageBand);
  // Rows that answer adults too are adult rows, whatever the protocol says of itself.
  const mixed = input.ageBand === 'child' && mixesChildren(protocol.ageBands);
  if (controlIsOn('adult-rows-only') && (others || mixed)) {
    return refuse('protocol/adults-only', {
      asked: 'Protocol',
      found: `"${protocol.title}" for a person of age band "${input.ageBand}"`,
      allowed: mixed ? 'a protocol for children alone' : protocol.ageBands.join(', '),
      todo: 'Ask the clinician who looks after this person; adult limits do not apply.',
      where: 'ageBand',
    });
  }
  if (protocol.settings.includes(input.setting)) return undefined;
  return refuse('protocol/other-setting', {
    asked: 'Protocol',
    found: `"${protocol.title}" for the setting "${input.setting}"`,
    allowed: protocol.settings.join(', '),
    todo: 'Choose the protocol of this setting, or decide without one.',
    where: 'setting',
  });
}

/** A reading at or above the limit counts as over it, whatever the estimate says; a drained volume is out already. */
function countAtLimitAsOver(input: ProtocolInput): ProtocolInput {
  if (!controlIsOn('at-limit-is-over') || input.trigger === 'drained') return input;
  return input.volumeMl !== undefined && input.volumeMl >= input.limitMl
    ? { ...input, overLimit: 'yes' }
    : input;
}

function dueBeforeCrossing(
  step: Step,
  dueInMin: number,
  crossingInMin: number | undefined,
): { readonly dueInMin: number; readonly forward?: string } {
  if (
    !controlIsOn('look-before-crossing') ||
    !lookSteps.has(step) ||
    crossingInMin === undefined ||
    crossingInMin >= dueInMin
  )
    return { dueInMin };
  const earlier = Math.min(dueInMin, Math.max(shortestLookMin, Math.floor(crossingInMin)));
  if (earlier === dueInMin) return { dueInMin };
  return {
    dueInMin: earlier,
    forward: `Brought forward from ${dueInMin} to ${earlier} minutes: the limit could be reached by then.`,
  };
}

/** `Look again within 90 minutes (nurse): row AS-31` — one line for logs and printed sheets. */
export function adviceLine(advice: Advice): string {
  const when = advice.dueInMin === 0 ? 'now' : `within ${advice.dueInMin} minutes`;
  return `${stepNames[advice.step]} ${when} (${advice.ownerRole.replaceAll('-', ' ')}): row ${advice.row.id}`;
}
