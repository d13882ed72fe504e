import type { ReactNode } from 'react';

/**
 * The SVG fills that carry meaning, put into the page once by the shell. Use as `fill="url(#fill-unknown)"`.
 *
 * fill-unknown  slant hatch, ink: not known
 * fill-low      slant hatch, deep: at least, the upper part is not known
 * fill-forecast upright lines: beyond now, or held while paused
 * fill-over     level stripes: the part of the present band beyond the limit
 */
export function Patterns(): ReactNode {
  return (
    <svg width="0" height="0" aria-hidden="true" focusable="false" style={{ position: 'absolute' }}>
      <defs>
        <pattern
          id="fill-unknown"
          width="8"
          height="8"
          patternUnits="userSpaceOnUse"
          patternTransform="rotate(45)"
        >
          <path d="M0 0v8" stroke="var(--rule)" strokeWidth="1.6" />
        </pattern>
        <pattern
          id="fill-low"
          width="7"
          height="7"
          patternUnits="userSpaceOnUse"
          patternTransform="rotate(45)"
        >
          <path d="M0 0v7" stroke="var(--deep)" strokeWidth="2" />
        </pattern>
        <pattern id="fill-forecast" width="5" height="5" patternUnits="userSpaceOnUse">
          <path d="M1 0v5" stroke="var(--deep-2)" strokeWidth="1.4" />
        </pattern>
        <pattern id="fill-over" width="5" height="5" patternUnits="userSpaceOnUse">
          <path d="M0 1.4h5" stroke="var(--deep)" strokeWidth="2.8" />
        </pattern>
      </defs>
    </svg>
  );
}
