import type { Role, Step } from './words.ts';

/** What a protocol answers. The engine that fills it is packages/protocol; it is kept as a `step-advised` entry. */
export interface Advice {
  readonly step: Step;
  /** Minutes from the moment of the answer. */
  readonly dueInMin: number;
  /** The latest that the row allows, min; absent when it gives one time. */
  readonly noLaterThanMin?: number;
  readonly ownerRole: Role;
  /** Who is to be told, in words. */
  readonly tell?: string;
  /** Why, in one or two short sentences. */
  readonly why: string;
  /** What to record when it is done. */
  readonly record?: string;
  readonly row: { readonly id: string; readonly text: string; readonly sourceId: string };
  readonly protocol: {
    readonly id: string;
    readonly version: number;
    readonly title: string;
    readonly approval:
      | 'example-not-approved'
      | { readonly signedBy: string; readonly role: Role; readonly on: string; readonly reviewBy: string };
  };
  /** Row ids of every table passed on the way, first to last. */
  readonly trace: readonly string[];
}
