/**
 * Long work that can be given up: it says how far it is each time it is asked to go on, and has no result before its
 * end. Whoever stops asking has nothing half done in hand.
 */
export interface Progress {
  /** 0 to 1. */
  readonly share: number;
  /** What is being worked on, for people. */
  readonly says: string;
}

export type Work<Result> = Generator<Progress, Result, void>;

/** Runs such work to its end without a stop. */
export function toEnd<Result>(
  work: Work<Result>,
  onProgress: (progress: Progress) => void = () => {},
): Result {
  for (;;) {
    const step = work.next();
    if (step.done === true) return step.value;
    onProgress(step.value);
  }
}
