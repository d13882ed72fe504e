/**
 * What runs inside both pages before anything else: notes when the last row was painted, what moved, which tasks were
 * long and how long each answer to a hand took (Event Timing). The same for ours and for the peer, so that its own cost
 * falls out of the ratio.
 */
export interface Seen {
  /** When the last of the expected rows had been painted, ms since the page began; 0 until then. */
  lastRowMs: number;
  /** Sum of the layout shifts that no hand caused. */
  shift: number;
  /** Lengths of tasks above 50 ms, each with its start. */
  tasks: { startMs: number; lengthMs: number }[];
  /** Longest answer by interaction. */
  answers: Record<number, number>;
  moved: string[];
}

declare global {
  interface Window {
    seen: Seen;
  }
}

/** To be given to the browser as text; it stands alone. */
export function probe(rows: { selector: string; count: number }): void {
  const seen: Seen = { lastRowMs: 0, shift: 0, tasks: [], answers: {}, moved: [] };
  window.seen = seen;
  const watch = (type: string, take: (entry: PerformanceEntry) => void, more: object = {}): void =>
    new PerformanceObserver((list) => {
      for (const entry of list.getEntries()) take(entry);
    }).observe({ type, buffered: true, ...more });
  watch('layout-shift', (entry) => {
    const shift = entry as PerformanceEntry & {
      value: number;
      hadRecentInput: boolean;
      sources: { node?: Node | null }[];
    };
    if (shift.hadRecentInput) return;
    seen.shift += shift.value;
    for (const { node } of shift.sources)
      seen.moved.push(`${node?.nodeName ?? 'gone'} ${(node?.textContent ?? '').slice(0, 30)}`);
  });
  watch('longtask', (entry) => seen.tasks.push({ startMs: entry.startTime, lengthMs: entry.duration }));
  watch(
    'event',
    (entry) => {
      const { interactionId, duration } = entry as PerformanceEntry & { interactionId: number };
      if (interactionId > 0)
        seen.answers[interactionId] = Math.max(seen.answers[interactionId] ?? 0, duration);
    },
    { durationThreshold: 16 },
  );
  const painted = new MutationObserver(() => {
    if (document.querySelectorAll(rows.selector).length < rows.count) return;
    painted.disconnect();
    requestAnimationFrame(() => {
      const after = new MessageChannel();
      after.port1.addEventListener('message', () => {
        seen.lastRowMs = performance.now();
      });
      after.port1.start();
      after.port2.postMessage(0);
    });
  });
  painted.observe(document, { childList: true, subtree: true });
}
