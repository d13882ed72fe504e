/**
 * The small drawn marks. Each means one thing everywhere and always stands beside its word, so they are hidden
 * from screen readers. Drawn in a 20 × 16 box with the colour of the words beside them.
 */
import type { ReactNode } from 'react';

export const markNames = [
  'overdue',
  'due',
  'crossing',
  'no-reply',
  'by-asking',
  'part-seen',
  'not-known',
  'paused',
  'catheter',
  'none-due',
  'accepted',
  'read-back',
  'with-giver',
  'passed',
  'drained',
  'look',
  'late',
  'waiting',
  'moved',
  'tick',
] as const;
export type MarkName = (typeof markNames)[number];

const stroke = { fill: 'none', stroke: 'currentColor', strokeWidth: 1.8 } as const;
const box = <rect x="3" y="1.5" width="13" height="13" {...stroke} />;

const drawings: Readonly<Record<MarkName, ReactNode>> = {
  overdue: <path d="M3 15.5V1.2h14l-4 4.4 4 4.4H4.8v5.5z" fill="currentColor" />,
  due: <path d="M3.9 15.5V2h12.4l-3.5 3.7 3.5 3.7H3.9" {...stroke} />,
  crossing: (
    <>
      <path d="M1.5 10.5h17" {...stroke} />
      <path d="M4.5 15 14 3.5M8.8 2.6h6v6" {...stroke} />
    </>
  ),
  'no-reply': (
    <>
      <path d="M1.5 8h9M7 3.8 11 8l-4 4.2" {...stroke} />
      <path d="M15.5 1v3.6M15.5 6.2v3.6M15.5 11.4V15" {...stroke} strokeWidth="2.2" />
    </>
  ),
  'by-asking': (
    <>
      {box}
      <path d="M3.5 14 15.5 2" {...stroke} />
    </>
  ),
  'part-seen': (
    <>
      {box}
      <path d="m4 8 5.5-6M4 13 14 2.5M9 14l7-7" {...stroke} strokeWidth="1.1" />
    </>
  ),
  'not-known': <path d="M3 14.5 16 1.5M3 8.5l7-7M9 14.5l7-7" {...stroke} strokeWidth="1.3" />,
  paused: (
    <>
      <path d="M1.5 8h5M13 8h5" {...stroke} strokeWidth="2.2" />
      <path d="M7.6 3.5v9M12 3.5v9" {...stroke} />
    </>
  ),
  catheter: (
    <>
      <circle cx="10" cy="5" r="3.6" {...stroke} />
      <path d="M10 8.6v7" {...stroke} />
    </>
  ),
  'none-due': <path d="M4 8h12" {...stroke} />,
  accepted: (
    <>
      <rect x="2.5" y="0.8" width="14.4" height="14.4" fill="currentColor" />
      <path d="m5.6 8 3 3.2 5-6.4" fill="none" stroke="var(--paper-lift)" strokeWidth="2.2" />
    </>
  ),
  'read-back': (
    <>
      <path d="M3 1.5h6.7v13H3z" fill="currentColor" />
      {box}
    </>
  ),
  'with-giver': <rect x="3" y="1.5" width="13" height="13" {...stroke} strokeDasharray="3 2.2" />,
  passed: <path d="M10 1v12.5M5.8 9.5l4.2 4.4 4.2-4.4" {...stroke} />,
  drained: <path d="M10 1v12.5M5.8 9.5l4.2 4.4 4.2-4.4" {...stroke} strokeWidth="3" />,
  look: <circle cx="10" cy="8" r="4.6" {...stroke} strokeWidth="2" />,
  late: <path d="M2 8h16M5 4.5v7M15 4.5v7" {...stroke} />,
  waiting: <path d="M3 14.5 16 1.5M3 8.5l7-7M9 14.5l7-7" {...stroke} strokeWidth="1.3" />,
  moved: <path d="M3 12.5h9a3.5 3.5 0 0 0 0-7H4M7.5 2 4 5.5 7.5 9" {...stroke} />,
  tick: <path d="m3.5 8.4 4 4.4L16.5 3" {...stroke} strokeWidth="2.4" />,
};

export function Mark({ name, size = 16 }: { readonly name: MarkName; readonly size?: number }): ReactNode {
  return (
    <svg
      viewBox="0 0 20 16"
      width={size * 1.25}
      height={size}
      aria-hidden="true"
      focusable="false"
      data-mark={name}
      style={{ flex: 'none' }}
    >
      {drawings[name]}
    </svg>
  );
}
