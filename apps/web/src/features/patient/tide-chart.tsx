/**
 * The tide chart: content as a band that widens with doubt, drops where it was emptied, the person's own limit as a
 * line, and beyond now the forecast with its earliest, likely and latest crossing. Screen readers get the summary
 * and the table beside it; the drawing is hidden from them.
 */
import { useId, type ReactNode } from 'react';
import { clockTime, minuteMs } from '@ebbline/core/quantity';
import {
  bandPath,
  blocks,
  frameOf,
  hoursBetween,
  linePath,
  rowHeight,
  rowNames,
  topOf,
  type Frame,
} from './chart-frame.ts';
import { bandAt, dropsOf, piecesOf, type ChartInput, type TrackValue } from './chart-input.ts';
import { crossingMarks, narrowLabels, wideLabels } from './chart-labels.ts';
import { AtLeastMark, DropMark, DropMarkLying, ReadingMark, RowMark } from './chart-marks.tsx';
import { textWidth, type PlacedLabel } from './label-placing.ts';
import styles from './tide-chart.module.css';

const rowTitles: Readonly<Record<(typeof rowNames)[number], string>> = {
  looks: 'Looks',
  passed: 'Passed',
  in: 'In',
  catheter: 'Catheter',
  watch: 'Watch',
};

function TimeEdge({
  frame,
  input,
  at,
}: {
  readonly frame: Frame;
  readonly input: ChartInput;
  readonly at: number;
}): ReactNode {
  const hours = hoursBetween(input.fromMs, input.toMs, input.zone);
  const origin = hours[0]?.atMs ?? 0;
  return (
    <g stroke="var(--ink)" strokeWidth={1}>
      {blocks(input.fromMs, input.toMs, 30 * minuteMs, origin).map((block) => {
        const start = frame.time(block.from);
        const size = frame.time(block.to) - start;
        const fill = block.filled ? 'var(--ink)' : 'var(--paper)';
        return frame.form === 'wide' ? (
          <rect key={block.from} x={start} y={at} width={size} height={5} fill={fill} />
        ) : (
          <rect key={block.from} x={at} y={start} width={5} height={size} fill={fill} />
        );
      })}
    </g>
  );
}

function VolumeEdge({ frame, at }: { readonly frame: Frame; readonly at: number }): ReactNode {
  return (
    <g stroke="var(--ink)" strokeWidth={1}>
      {blocks(0, frame.topMl, 50, 0).map((block) => {
        const low = frame.volume(block.from);
        const high = frame.volume(block.to);
        const fill = block.filled ? 'var(--ink)' : 'var(--paper)';
        return frame.form === 'wide' ? (
          <rect key={block.from} x={at} y={high} width={5} height={low - high} fill={fill} />
        ) : (
          <rect key={block.from} x={low} y={at} width={high - low} height={5} fill={fill} />
        );
      })}
    </g>
  );
}

function Guides({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
  const { plot } = frame;
  const step = frame.form === 'narrow' || frame.topMl > 1200 ? 200 : 100;
  const volumes = Array.from({ length: Math.floor(frame.topMl / step) + 1 }, (_, index) => index * step);
  const hours = hoursBetween(input.fromMs, input.toMs, input.zone);
  return (
    <g className={styles['axis']}>
      {volumes.map((volumeMl) => {
        const at = frame.volume(volumeMl);
        return frame.form === 'wide' ? (
          <g key={volumeMl}>
            <path d={`M${plot.x} ${at}H${plot.x + plot.width}`} stroke="var(--rule-faint)" />
            <text x={plot.x - 14} y={at + 4} textAnchor="end">
              {volumeMl.toLocaleString('en-GB')}
            </text>
          </g>
        ) : (
          <g key={volumeMl}>
            <path d={`M${at} ${plot.y}V${plot.y + plot.height}`} stroke="var(--rule-faint)" />
            <text x={at} y={plot.y - 14} textAnchor="middle">
              {volumeMl.toLocaleString('en-GB')}
            </text>
          </g>
        );
      })}
      {hours.map(({ atMs, text }) => {
        const at = frame.time(atMs);
        return frame.form === 'wide' ? (
          <g key={atMs} className={styles['hour']}>
            <path d={`M${at} ${plot.y}V${plot.y + plot.height}`} stroke="var(--rule-faint)" />
            <text x={at} y={plot.y - 14} textAnchor="middle">
              {text}
            </text>
            <text x={at} y={plot.y + plot.height + 22} textAnchor="middle">
              {text}
            </text>
          </g>
        ) : (
          <g key={atMs} className={styles['hour']}>
            <path d={`M${plot.x} ${at}H${plot.x + plot.width}`} stroke="var(--rule-faint)" />
            <text x={plot.x - 13} y={at + 4} textAnchor="end">
              {text.length > 2 ? text : `${text}:00`}
            </text>
          </g>
        );
      })}
    </g>
  );
}

function Bands({
  frame,
  pieces,
  patterns,
}: {
  readonly frame: Frame;
  readonly pieces: readonly (readonly TrackValue[])[];
  readonly patterns: string;
}): ReactNode {
  return (
    <>
      {pieces.map((piece) => {
        const forecast = piece[0]?.forecast === true;
        const outer = bandPath(
          frame,
          piece,
          (value) => value.p05Ml,
          (value) => value.p95Ml,
        );
        const inner = bandPath(
          frame,
          piece,
          (value) => value.p25Ml,
          (value) => value.p75Ml,
        );
        return (
          <g key={piece[0]?.atMs} data-piece={forecast ? 'forecast' : 'known'}>
            <path
              d={outer}
              fill={forecast ? `url(#${patterns}-pale)` : 'var(--deep-3)'}
              stroke="var(--deep-2)"
              strokeWidth={1}
            />
            <path d={inner} fill={forecast ? `url(#${patterns}-core)` : 'var(--deep-2)'} />
            <path
              d={linePath(frame, piece)}
              fill="none"
              stroke="var(--deep)"
              strokeWidth={2.4}
              strokeDasharray={forecast ? '7 5' : undefined}
            />
          </g>
        );
      })}
    </>
  );
}

function Limit({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
  const at = frame.volume(input.limitMl);
  const { plot } = frame;
  if (frame.form === 'wide') {
    const ticks = Array.from(
      { length: Math.floor(plot.width / 9) },
      (_, index) => `M${plot.x + index * 9} ${at}l-3.4 6`,
    ).join('');
    return (
      <g fill="none" stroke="var(--ink)">
        <path d={`M${plot.x} ${at}H${plot.x + plot.width}`} strokeWidth={1.8} />
        <path d={ticks} strokeWidth={0.9} />
      </g>
    );
  }
  const ticks = Array.from(
    { length: Math.floor(plot.height / 9) },
    (_, index) => `M${at} ${plot.y + index * 9}l-6 3.4`,
  ).join('');
  return (
    <g fill="none" stroke="var(--ink)">
      <path d={`M${at} ${plot.y}V${plot.y + plot.height}`} strokeWidth={1.8} />
      <path d={ticks} strokeWidth={0.9} />
    </g>
  );
}

function CrossingBar({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
  const marks = crossingMarks(input);
  if (marks.length === 0) return null;
  const at = frame.volume(input.limitMl);
  const start = frame.time(Math.max(input.nowMs, Math.min(...marks.map((mark) => mark.atMs))));
  const whole = marks.find((mark) => mark.word === 'latest')?.inView === true;
  const end = whole ? frame.time(Math.max(...marks.map((mark) => mark.atMs))) : frame.time(input.toMs);
  const inView = marks.filter((mark) => mark.inView);
  return frame.form === 'wide' ? (
    <g stroke="var(--deep)" fill="none" data-crossing="">
      <path d={`M${start} ${at}H${end}`} strokeWidth={5} />
      {inView.map((mark) => (
        <path key={mark.word} d={`M${frame.time(mark.atMs)} ${at - 9}v18`} strokeWidth={2.4} />
      ))}
      {whole ? null : <path d={`M${end - 8} ${at - 7}l8 7-8 7`} strokeWidth={2.4} />}
    </g>
  ) : (
    <g stroke="var(--deep)" fill="none" data-crossing="">
      <path d={`M${at} ${start}V${end}`} strokeWidth={5} />
      {inView.map((mark) => (
        <path key={mark.word} d={`M${at - 9} ${frame.time(mark.atMs)}h18`} strokeWidth={2.4} />
      ))}
      {whole ? null : <path d={`M${at - 7} ${end - 8}l7 8 7-8`} strokeWidth={2.4} />}
    </g>
  );
}

function Over({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
  return (
    <>
      {input.over.map((over) => {
        const points = [
          [over.fromMs, input.limitMl],
          [over.toMs, Math.min(over.topMl, frame.topMl)],
          [over.toMs, input.limitMl],
        ] as const;
        return (
          <path
            key={over.toMs}
            d={`M${points.map(([atMs, volumeMl]) => `${frame.x(atMs, volumeMl)} ${frame.y(atMs, volumeMl)}`).join('L')}Z`}
            fill="var(--ink)"
            data-over=""
          />
        );
      })}
    </>
  );
}

function Readings({
  frame,
  input,
  pieces,
}: {
  readonly frame: Frame;
  readonly input: ChartInput;
  readonly pieces: readonly (readonly TrackValue[])[];
}): ReactNode {
  const wide = frame.form === 'wide';
  return (
    <>
      {input.events
        .filter((event) => event.onChart)
        .map((event) => {
          const volumeMl = Math.min(event.volumeMl ?? 0, frame.topMl);
          const x = frame.x(event.atMs, volumeMl);
          const y = frame.y(event.atMs, volumeMl);
          if (event.mark === 'reading') {
            const low = event.intervalMl ? frame.volume(event.intervalMl.low) : undefined;
            const high = event.intervalMl
              ? frame.volume(Math.min(event.intervalMl.high, frame.topMl))
              : undefined;
            return (
              <g key={event.id}>
                {low === undefined || high === undefined ? null : (
                  <path
                    d={
                      wide
                        ? `M${x} ${low}V${high}M${x - 5} ${low}h10M${x - 5} ${high}h10`
                        : `M${low} ${y}H${high}M${low} ${y - 5}v10M${high} ${y - 5}v10`
                    }
                    stroke="var(--ink)"
                    strokeWidth={1.7}
                    fill="none"
                  />
                )}
                <ReadingMark x={x} y={y} />
              </g>
            );
          }
          if (event.mark === 'at-least') {
            const top = frame.volume(Math.min(frame.topMl, volumeMl + frame.topMl * 0.32));
            return (
              <g key={event.id}>
                <rect
                  x={wide ? x - 9 : x}
                  y={wide ? top : y - 9}
                  width={wide ? 18 : top - x}
                  height={wide ? y - top : 18}
                  fill="url(#fill-low)"
                />
                <AtLeastMark x={x} y={y} turned={!wide} />
              </g>
            );
          }
          if (event.mark === 'passed' || event.mark === 'drained') {
            const before = bandAt(pieces, event.atMs - minuteMs)?.p50Ml;
            const after = bandAt(pieces, event.atMs + minuteMs)?.p50Ml ?? 0;
            const heavy = event.mark === 'drained';
            const fromMl =
              heavy && event.volumeMl !== undefined
                ? Math.min(frame.topMl, event.volumeMl)
                : (before ?? after + (event.volumeMl ?? 0));
            const fromAt = frame.volume(fromMl);
            const toAt = frame.volume(heavy ? Math.min(after, 20) : Math.min(after, fromMl));
            if (Math.abs(toAt - fromAt) < 8) {
              return wide ? (
                <DropMark
                  key={event.id}
                  x={frame.time(event.atMs)}
                  fromY={fromAt - 12}
                  toY={fromAt + 4}
                  heavy={heavy}
                />
              ) : (
                <DropMarkLying
                  key={event.id}
                  y={frame.time(event.atMs)}
                  fromX={fromAt + 12}
                  toX={fromAt - 4}
                  heavy={heavy}
                />
              );
            }
            return wide ? (
              <DropMark key={event.id} x={frame.time(event.atMs)} fromY={fromAt} toY={toAt} heavy={heavy} />
            ) : (
              <DropMarkLying
                key={event.id}
                y={frame.time(event.atMs)}
                fromX={fromAt}
                toX={toAt}
                heavy={heavy}
              />
            );
          }
          return null;
        })}
    </>
  );
}

function Labels({
  labels,
  narrow,
}: {
  readonly labels: readonly PlacedLabel[];
  readonly narrow: boolean;
}): ReactNode {
  return (
    <g className={styles['labels']}>
      {labels.map((label) => {
        const { wish } = label;
        const anchorX =
          label.align === 'start'
            ? label.x + 2
            : label.align === 'end'
              ? label.x + label.width - 2
              : label.x + label.width / 2;
        let y = label.y - 3;
        const middleY = label.y + label.height / 2;
        const leader = narrow
          ? `M${wish.x + 1} ${wish.y}L${label.x - 3} ${middleY}`
          : `M${wish.x} ${wish.y}L${Math.min(Math.max(wish.x, label.x), label.x + label.width)} ${Math.min(Math.max(wish.y, label.y), label.y + label.height)}`;
        return (
          <g key={wish.id} data-label={wish.id}>
            {narrow || label.leader ? (
              <path d={leader} stroke="var(--rule)" strokeWidth={0.9} fill="none" />
            ) : null}
            {wish.lines.map((line, index) => {
              y += line.size + 3;
              return (
                <text
                  key={index}
                  x={anchorX}
                  y={Math.round((y - 1) * 10) / 10}
                  textAnchor={label.align}
                  fontSize={line.size}
                  fontWeight={line.strong ? 700 : 400}
                  fill={line.deep ? 'var(--deep)' : line.strong ? 'var(--ink)' : 'var(--ink-2)'}
                  className={line.serif ? styles['serif'] : undefined}
                >
                  {line.text}
                </text>
              );
            })}
          </g>
        );
      })}
    </g>
  );
}

function Rows({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
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

function Now({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
  if (input.nowMs < input.fromMs || input.nowMs > input.toMs) return null;
  const at = frame.time(input.nowMs);
  const words = `now ${clockTime(input.nowMs, input.zone)}`;
  const width = textWidth(words, 13, true) + 14;
  const { plot } = frame;
  return frame.form === 'wide' ? (
    <g className={styles['now']}>
      <path d={`M${at} ${plot.y - 6}V${frame.height - 2}`} stroke="var(--ink)" strokeWidth={1.8} />
      <path
        d={`M${at - width / 2} ${plot.y - 30}h${width}v18h-${width / 2 - 6}l-6 6-6-6h-${width / 2 - 6}z`}
        fill="var(--ink)"
      />
      <text x={at} y={plot.y - 16} textAnchor="middle" fill="var(--paper)">
        {words}
      </text>
    </g>
  ) : (
    <g className={styles['now']}>
      <path d={`M${plot.x - 6} ${at}H${plot.x + plot.width + 8}`} stroke="var(--ink)" strokeWidth={1.8} />
      <rect x={0} y={at - 18} width={52} height={36} fill="var(--ink)" />
      <text x={26} y={at - 3} textAnchor="middle" fill="var(--paper)">
        now
      </text>
      <text x={26} y={at + 12} textAnchor="middle" fill="var(--paper)">
        {clockTime(input.nowMs, input.zone).slice(0, 5)}
      </text>
    </g>
  );
}

export function TideChart({
  input,
  widthPx,
  plotHeight,
}: {
  readonly input: ChartInput;
  readonly widthPx: number;
  readonly plotHeight?: number;
}): ReactNode {
  const patterns = `tide${useId().replaceAll(/[^a-zA-Z0-9]/g, '')}`;
  const volumes = [
    ...input.track.filter((value) => !value.forecast).map((value) => value.p95Ml),
    ...input.events
      .filter((event) => event.onChart)
      .map((event) => event.intervalMl?.high ?? event.volumeMl ?? 0),
    ...input.over.map((over) => over.topMl),
  ];
  const frame = frameOf({
    widthPx,
    fromMs: input.fromMs,
    toMs: input.toMs,
    topMl: topOf(input.limitMl, volumes),
    ...(plotHeight === undefined ? {} : { plotHeight }),
  });
  const { plot } = frame;
  const pieces = piecesOf(input.track, dropsOf(input.events), input.nowMs);
  const wide = frame.form === 'wide';
  const labels = wide ? wideLabels(input, frame, pieces) : narrowLabels(input, frame, pieces);
  const limitAt = frame.volume(input.limitMl);
  const clip = `${patterns}-clip`;
  return (
    <svg
      className={styles['chart']}
      width={frame.width}
      height={frame.height}
      viewBox={`0 0 ${frame.width} ${frame.height}`}
      aria-hidden="true"
      focusable="false"
      data-form={frame.form}
    >
      <defs>
        <clipPath id={clip}>
          <rect {...plot} />
        </clipPath>
        <pattern id={`${patterns}-pale`} width="4.5" height="4.5" patternUnits="userSpaceOnUse">
          <rect width="4.5" height="4.5" fill="var(--deep-4)" />
          <path d="M1 0v4.5" stroke="var(--deep-2)" strokeWidth="1" />
        </pattern>
        <pattern id={`${patterns}-core`} width="3" height="4.5" patternUnits="userSpaceOnUse">
          <path d="M.9 0v4.5" stroke="var(--deep-2)" strokeWidth="1.5" />
        </pattern>
      </defs>
      <Guides frame={frame} input={input} />
      <g clipPath={`url(#${clip})`}>
        {input.notKnown.map((span) => {
          const from = frame.time(span.fromMs);
          const to = frame.time(span.toMs);
          return wide ? (
            <rect
              key={span.fromMs}
              x={from}
              y={plot.y}
              width={Math.max(0, to - from)}
              height={plot.height}
              fill="url(#fill-unknown)"
              stroke="var(--rule)"
            />
          ) : (
            <rect
              key={span.fromMs}
              x={plot.x}
              y={from}
              width={plot.width}
              height={Math.max(0, to - from)}
              fill="url(#fill-unknown)"
              stroke="var(--rule)"
            />
          );
        })}
        <Bands frame={frame} pieces={pieces} patterns={patterns} />
        <Over frame={frame} input={input} />
      </g>
      <Limit frame={frame} input={input} />
      <g clipPath={`url(#${clip})`}>
        <CrossingBar frame={frame} input={input} />
      </g>
      <Readings frame={frame} input={input} pieces={pieces} />
      <TimeEdge frame={frame} input={input} at={wide ? plot.y - 6 : plot.x - 6} />
      {wide ? <TimeEdge frame={frame} input={input} at={plot.y + plot.height + 1} /> : null}
      <VolumeEdge frame={frame} at={wide ? plot.x - 7 : plot.y - 6} />
      <text
        x={wide ? 0 : plot.x - 13}
        y={plot.y - 14}
        className={styles['unit']}
        textAnchor={wide ? 'start' : 'end'}
      >
        mL
      </text>
      {wide ? <Rows frame={frame} input={input} /> : null}
      <Now frame={frame} input={input} />
      <Labels labels={labels} narrow={!wide} />
      {input.notKnown.map((span) => {
        const middle = (frame.time(span.fromMs) + frame.time(span.toMs)) / 2;
        if (textWidth(span.words, 13) > Math.abs(frame.time(span.toMs) - frame.time(span.fromMs)) && wide)
          return null;
        return (
          <text
            key={span.fromMs}
            x={wide ? middle : plot.x + plot.width / 2}
            y={wide ? plot.y + plot.height / 2 : Math.min(middle + 4, frame.time(span.toMs) - 4)}
            textAnchor="middle"
            className={styles['limitWords']}
          >
            {span.words}
          </text>
        );
      })}
      <text
        x={
          wide
            ? plot.x + 6
            : Math.min(limitAt + 4, plot.x + plot.width - textWidth(input.limitWords, 12.5, true))
        }
        y={wide ? limitAt - 6 : plot.y + 13}
        className={styles['limitWords']}
      >
        {input.limitWords}
      </text>
    </svg>
  );
}
