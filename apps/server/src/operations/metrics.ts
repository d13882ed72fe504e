/**
 * Figures for a Prometheus that scrapes: how requests go, what the store and the live line hold, what the checks say.
 * Labels are names out of closed lists (route templates, methods, check names): no patient, person, ward, address or
 * error text can stand in one.
 *
 * Units     seconds and bytes, as the format's own naming asks
 * Source    Prometheus text format 0.0.4, by its usual library: S-server-prometheus
 */
import type { FastifyInstance } from 'fastify';
import { collectDefaultMetrics, Counter, Gauge, Histogram, Registry } from 'prom-client';
import type { EntryStore } from '@ebbline/store';
import type { Downtime } from '../downtime/downtime.ts';
import type { LiveBoard } from '../live/live-board.ts';
import type { Health } from './checks.ts';

export interface MetricsParts {
  readonly store: Pick<EntryStore, 'head' | 'auditHead' | 'waiting'>;
  readonly live: Pick<LiveBoard, 'screens'>;
  readonly health: Health;
  readonly downtime: Pick<Downtime, 'status'> | undefined;
  readonly now: () => number;
}

export interface Metrics {
  readonly contentType: string;
  text(): Promise<string>;
  /** Counts every request of a server. */
  watch(server: FastifyInstance): void;
  close(): void;
}

const methods = new Set(['GET', 'HEAD', 'POST', 'PUT', 'PATCH', 'DELETE', 'OPTIONS']);
/** Upper edges, s: fine where a bedside's save should lie, coarse up to the time at which a request is given up. */
const secondsEdges = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30]; // S-server-prometheus
const mostOutbox = 1_000;

export function createMetrics(parts: MetricsParts): Metrics {
  const { store, live, health, downtime, now } = parts;
  const registry = new Registry();
  collectDefaultMetrics({ register: registry, prefix: 'ebbline_' });
  const registers = [registry];
  const seconds = new Histogram({
    name: 'ebbline_http_request_duration_seconds',
    help: 'From the first byte of a request to the last of its answer, by route template',
    labelNames: ['method', 'route', 'status'] as const,
    buckets: secondsEdges,
    registers,
  });
  const running = new Set<unknown>();
  const tooMany = new Counter({
    name: 'ebbline_http_requests_refused_for_rate_total',
    help: 'Requests refused because there were too many',
    registers,
  });
  const gauge = (name: string, help: string, read: () => number | Promise<number>): void => {
    new Gauge({
      name,
      help,
      registers,
      async collect() {
        // A figure that can't be had is left as it was: the checks say why.
        try {
          this.set(await read());
        } catch {
          this.set(Number.NaN);
        }
      },
    });
  };
  gauge(
    'ebbline_http_requests_running',
    'Requests that are being answered, live lines among them',
    () => running.size,
  );
  gauge('ebbline_live_screens', 'Screens that follow the live line', () => live.screens());
  gauge('ebbline_entries', 'Entries kept', () => store.head());
  gauge('ebbline_audit_rows', 'Rows of the audit', async () => (await store.auditHead()).auditRows);
  gauge(
    'ebbline_outbox_waiting',
    `Entries not yet sent to other systems; ${mostOutbox} stands for that or more`,
    async () => (await store.waiting(mostOutbox)).length,
  );
  gauge('ebbline_downtime_print_age_seconds', 'Age of the newest whole round of prints; NaN for none', () => {
    const printedAtMs = downtime?.status().printedAtMs;
    return printedAtMs === undefined ? Number.NaN : (now() - printedAtMs) / 1000;
  });
  new Gauge({
    name: 'ebbline_check',
    help: '1 for the state in which a check is',
    labelNames: ['check', 'state'] as const,
    registers,
    async collect() {
      this.reset();
      for (const { name, state } of await health.checks(now())) this.set({ check: name, state }, 1);
    },
  });
  return {
    contentType: registry.contentType,
    text: () => registry.metrics(),
    watch: (server) => {
      server.addHook('onRequest', async (request, reply) => {
        running.add(request);
        // Also when the client goes away before its answer.
        reply.raw.once('close', () => running.delete(request));
      });
      server.addHook('onResponse', async (request, reply) => {
        running.delete(request);
        if (reply.statusCode === 429) tooMany.inc();
        seconds.observe(
          {
            method: methods.has(request.method) ? request.method : 'other',
            route: request.routeOptions.url ?? 'unknown',
            status: `${Math.floor(reply.statusCode / 100)}xx`,
          },
          reply.elapsedTime / 1000,
        );
      });
    },
    close: () => registry.clear(),
  };
}
