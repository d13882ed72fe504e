/**
 * Structured logs, one JSON line each, with no patient data: never a body, a query, a full address or the text of an
 * error (a parser's message quotes what it read). An error is logged by name, code and where it arose.
 */
import type { FastifyServerOptions } from 'fastify';

export interface LogOptions {
  readonly level?: 'debug' | 'info' | 'warn' | 'error';
  /** Where lines go; standard error when left out. */
  readonly stream?: { write(line: string): void };
}

interface ErrorLine {
  readonly [part: string]: unknown;
  readonly type: string;
  readonly message: string;
  readonly stack: string;
}

/** An error without its message. */
export function quietError(error: Error & { code?: string }): ErrorLine {
  const stack = error.stack ?? '';
  const at = stack.indexOf(error.message);
  const frames = stack
    .slice(at < 0 ? 0 : at + error.message.length)
    .split('\n')
    .filter((line) => /^\s+at /.test(line));
  return { type: error.name, code: error.code, message: '', stack: frames.join('\n') };
}

export function loggerOptions(log: LogOptions | false): FastifyServerOptions['logger'] {
  if (log === false) return false;
  return {
    level: log.level ?? 'info',
    stream: log.stream ?? process.stderr,
    base: { service: 'ebbline' },
    timestamp: () => `,"time":"${new Date().toISOString()}"`,
    serializers: { err: quietError, req: () => ({}), res: () => ({}) as never },
  };
}
