/** The layers of the tide chart, bottom to top, each drawn on the wide or the narrow sheet. */
import type { ReactNode } from 'react';
import { clockTime, minuteMs } from '@ebbline/core/quantity';
import { bandPath, blocks, hoursBetween, linePath, type Frame } from './chart-frame.ts';
import { bandAt, type ChartInput, type TrackValue } from './chart-input.ts';
import { crossingMarks } from './chart-labels.ts';
import { AtLeastMark, DropMark, DropMarkLying, ReadingMark } from './chart-marks.tsx';
import { textWidth, type PlacedLabel } from './label-placing.ts';
import styles from './tide-chart.module.css';

export function TimeEdge({
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

export function VolumeEdge({ frame, at }: { readonly frame: Frame; readonly at: number }): ReactNode {
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

export function Guides({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
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
        const underFlag = Math.abs(at - frame.time(input.nowMs)) < (frame.form === 'wide' ? 56 : 24);
        return frame.form === 'wide' ? (
          <g key={atMs} className={styles['hour']}>
            <path d={`M${at} ${plot.y}V${plot.y + plot.height}`} stroke="var(--rule-faint)" />
            {underFlag ? null : (
              <text x={at} y={plot.y - 14} textAnchor="middle">
                {text}
              </text>
            )}
            <text x={at} y={plot.y + plot.height + 22} textAnchor="middle">
              {text}
            </text>
          </g>
        ) : (
          <g key={atMs} className={styles['hour']}>
            <path d={`M${plot.x} ${at}H${plot.x + plot.width}`} stroke="var(--rule-faint)" />
            {underFlag ? null : (
              <text x={plot.x - 13} y={at + 4} textAnchor="end">
                {text.length > 2 ? text : `${text}:00`}
              </text>
            )}
          </g>
        );
      })}
    </g>
  );
}

export function Bands({
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

export function Limit({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
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

export function CrossingBar({
  frame,
  input,
}: {
  readonly frame: Frame;
  readonly input: ChartInput;
}): ReactNode {
  const marks = crossingMarks(input);
  if (marks.length === 0) return null;
  const at = frame.volume(input.limitMl);
  // When the earliest has passed already the bar begins at now.
  const earliestMs = input.crossing?.earliestAtMs ?? Math.min(...marks.map((mark) => mark.atMs));
  const start = frame.time(Math.max(input.nowMs, earliestMs));
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

export function Over({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
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

export function Readings({
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

export function Labels({
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

export function Now({ frame, input }: { readonly frame: Frame; readonly input: ChartInput }): ReactNode {
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
