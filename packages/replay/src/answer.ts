/** What one protocol answers at one moment, and how two answers differ. */
import { isLookStep } from '@ebbline/core/facts';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import type { Role, Step } from '@ebbline/core/record';
import {
  answerProtocol,
  drainSteps,
  lookSteps,
  type CompiledProtocol,
  type ProtocolInput,
} from '@ebbline/protocol';

export type Answer =
  | {
      readonly kind: 'advice';
      readonly step: Step;
      readonly dueInMin: number;
      readonly ownerRole: Role;
      readonly rowId: string;
    }
  | { readonly kind: 'none'; readonly refusal: Refusal };

/** How two answers differ, the weightiest first: whether there is one, its step, its time, whose it is. */
export type Change = 'answer' | 'step' | 'time' | 'owner';

export function answerOf(protocol: CompiledProtocol, input: ProtocolInput): Answer {
  const advice = answerProtocol(protocol, input);
  if (isRefusal(advice)) return { kind: 'none', refusal: advice };
  const { step, dueInMin, ownerRole, row } = advice;
  return { kind: 'advice', step, dueInMin, ownerRole, rowId: row.id };
}

export function changeBetween(before: Answer, after: Answer): Change | undefined {
  if (before.kind !== after.kind) return 'answer';
  if (before.kind === 'none' || after.kind === 'none') return undefined;
  if (before.step !== after.step) return 'step';
  if (before.dueInMin !== after.dueInMin) return 'time';
  return before.ownerRole === after.ownerRole ? undefined : 'owner';
}

/** Asks for a reading: a look, with or without help to pass urine first, or a residual. */
export const asksForLook = (step: Step): boolean => isLookStep(step) || lookSteps.has(step);
export const passesCatheter = (step: Step): boolean => drainSteps.has(step);

const nightFromH = 23;
const nightUntilH = 6;
/** Hours in which a look wakes somebody: from 23 to 6 on the ward's clock. S-common-practice */
export const isNightHour = (hour: number): boolean => hour >= nightFromH || hour < nightUntilH;
