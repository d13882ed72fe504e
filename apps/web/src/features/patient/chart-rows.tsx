/** The rows under the wide chart, on its time axis: looks, passed, in, catheter, and who has the watch. */
import type { ReactNode } from 'react';
import { rowHeight, rowNames, type Frame } from './chart-frame.ts';
import type { ChartInput } from './chart-input.ts';
import { RowMark } from './chart-marks.tsx';
import { textWidth } from './label-placing.ts';
import styles from './tide-chart.module.css';

const rowTitles: Readonly<Record<(typeof rowNames)[number], string>> = {
  looks: 'Looks',
  passed: 'Passed',
  in: 'In',
  catheter: 'Catheter',
  watch: 'Watch',
};

export function Rows({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
  const top = frame.plot.y + frame.plot.height + 34;
  const right = frame.plot.x + frame.plot.width;
  return (
    <g className={styles['rows']}>
      {rowNames.map((name, index) => {
        const y = top + index * rowHeight + rowHeight / 2;
        const events = input.events.filter(
          (event) => event.row === name && !(name === 'catheter' && event.mark === 'drained'),
        );
        return (
          <g key={name}>
            <path d={`M0 ${y - rowHeight / 2}H${right}`} stroke="var(--rule)" strokeWidth={0.8} />
            <text x={0} y={y + 4} className={styles['title']}>
              {rowTitles[name]}
            </text>
            {events.map((event, place) => {
              const x = frame.time(event.atMs);
              const after = events[place + 1];
              const room = (after ? frame.time(after.atMs) - 10 : right) - x - 16;
              const words = event.rest === undefined ? event.strong : `${event.strong} ${event.rest}`;
              const shown =
                textWidth(words, 12.5) < room
                  ? words
                  : textWidth(event.strong, 12.5, true) < room
                    ? event.strong
                    : '';
              return (
                <g key={event.id}>
                  <RowMark mark={event.mark} x={x} y={y} />
                  {shown === '' ? null : (
                    <text
                      x={
                        x +
                        (event.mark === 'due' || event.mark === 'overdue' || event.mark === 'missed'
                          ? 17
                          : 11)
                      }
                      y={y + 4}
                      className={styles['halo']}
                    >
                      {shown === words && event.rest !== undefined ? (
                        <>
                          <tspan fontWeight={700}>{event.strong}</tspan> {event.rest}
                        </>
                      ) : (
                        shown
                      )}
                    </text>
                  )}
                </g>
              );
            })}
            {name === 'watch'
              ? input.watch.map((span) => {
                  const from = Math.max(frame.time(Math.max(span.fromMs, input.fromMs)), frame.plot.x);
                  const to = Math.min(frame.time(span.toMs), right);
                  if (to <= from) return null;
                  return (
                    <g key={span.fromMs}>
                      <rect
                        x={from}
                        y={y - 8}
                        width={to - from}
                        height={16}
                        fill={span.known ? 'var(--paper-lift)' : 'url(#fill-unknown)'}
                        stroke="var(--ink)"
                        strokeWidth={1}
                      />
                      {textWidth(span.words, 12.5) < to - from - 10 ? (
                        <text x={from + 6} y={y + 4}>
                          {span.words}
                        </text>
                      ) : null}
                    </g>
                  );
                })
              : null}
          </g>
        );
      })}
      <path d={`M0 ${top + rowNames.length * rowHeight}H${right}`} stroke="var(--rule)" strokeWidth={1.4} />
    </g>
  );
}
