/**
 * The tide chart: content as a band that widens with doubt, drops where it was emptied, the person's own limit as a
 * line, and beyond now the forecast with its earliest, likely and latest crossing. Screen readers get the summary
 * and the table beside it; the drawing is hidden from them.
 */
import { useId, type ReactNode } from 'react';
import { drawnHighMl, frameOf, topOf } from './chart-frame.ts';
import { breaksOf, piecesOf, type ChartInput } from './chart-input.ts';
import { narrowLabels, wideLabels } from './chart-labels.ts';
import {
  Bands,
  CrossingBar,
  Guides,
  Labels,
  Limit,
  Now,
  Over,
  Readings,
  TimeEdge,
  VolumeEdge,
} from './chart-layers.tsx';
import { Rows } from './chart-rows.tsx';
import { textWidth } from './label-placing.ts';
import styles from './tide-chart.module.css';

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
    ...input.events.filter((event) => event.onChart).map((event) => drawnHighMl(input.limitMl, event)),
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
  const pieces = piecesOf(input.track, breaksOf(input.events), input.nowMs);
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
            y={wide ? plot.y + plot.height * 0.14 : Math.min(middle + 4, frame.time(span.toMs) - 4)}
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
            : Math.min(limitAt, plot.x + plot.width - textWidth(input.limitWords, 13, true) / 2)
        }
        y={wide ? limitAt - 6 : 13}
        textAnchor={wide ? 'start' : 'middle'}
        className={styles['limitWords']}
      >
        {input.limitWords}
      </text>
    </svg>
  );
}
