/**
 * The times for which a path lay above a limit, gathered while its pieces come, the latest first.
 *
 * Units     mL, ms; area in mL·ms
 * Domain    pieces that follow one another backwards in time; a stretch outside of which nothing counts
 */
import type { PathPiece } from './paths.ts';

export interface Spell {
  readonly sinceMs: number;
  readonly untilMs: number;
  readonly areaMlMs: number;
  /** It begins where a content was believed afresh: nothing followed says how it came to be so much. */
  readonly afresh: boolean;
}

export interface SpellCounter {
  readonly take: (piece: PathPiece) => void;
  /** The spells of the path whose pieces were taken, latest first; the next piece begins another path. */
  readonly finish: () => readonly Spell[];
}

/** Content at an instant inside a piece, just before anything left. */
export const contentIn = (piece: PathPiece, atMs: number): number =>
  piece.toMs > piece.fromMs
    ? piece.startMl +
      ((piece.reachedMl - piece.startMl) * (atMs - piece.fromMs)) / (piece.toMs - piece.fromMs)
    : piece.startMl;

export function countSpells(limitMl: number, fromMs: number, toMs: number): SpellCounter {
  let spells: Spell[] = [];
  let open: Spell | undefined;
  const close = (afresh = false): void => {
    if (open !== undefined) spells.push({ ...open, afresh });
    open = undefined;
  };
  return {
    take: (piece) => {
      const startMs = Math.max(piece.fromMs, fromMs);
      const endMs = Math.min(piece.toMs, toMs);
      if (endMs < startMs) return;
      // More is left than was there: a rise that nothing explains.
      if (open !== undefined && piece.reachedMl <= limitMl) close(piece.afresh);
      if (endMs === startMs) return;
      const [start, end] = [contentIn(piece, startMs), contentIn(piece, endMs)];
      if (end <= limitMl) return;
      const sinceMs =
        start >= limitMl ? startMs : endMs - ((end - limitMl) / (end - start)) * (endMs - startMs);
      const areaMlMs = ((Math.max(start, limitMl) + end) / 2 - limitMl) * (endMs - sinceMs);
      open = {
        sinceMs,
        untilMs: open?.untilMs ?? endMs,
        areaMlMs: (open?.areaMlMs ?? 0) + areaMlMs,
        afresh: false,
      };
      if (start < limitMl) close();
    },
    finish: () => {
      close();
      const found = spells;
      spells = [];
      return found;
    },
  };
}
