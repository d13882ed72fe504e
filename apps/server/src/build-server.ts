/**
 * The whole server as one value: give it a store, a directory and accounts, and it answers. It reads no clock and no
 * environment; `start.ts` does.
 */
import fastifyCookie from '@fastify/cookie';
import fastifyRateLimit from '@fastify/rate-limit';
import fastifySwagger from '@fastify/swagger';
import Fastify, { LogController, type FastifyInstance } from 'fastify';
import {
  jsonSchemaTransform,
  jsonSchemaTransformObject,
  serializerCompiler,
  validatorCompiler,
  type ZodTypeProvider,
} from 'fastify-type-provider-zod';
import { refuse } from '@ebbline/core/quantity';
import { defaultSettings } from '@ebbline/core/record';
import type { EntryStore } from '@ebbline/store';
import { answerError, AnswerError, notThere, tooMany } from './answers.ts';
import type { AccountBook } from './accounts/account-book.ts';
import { actorOf } from './accounts/actor.ts';
import { recentLooks } from './audit/note-request.ts';
import { createPatientFinder } from './audit/patient-finder.ts';
import { createSessions, type LockAfterS, type Sessions } from './accounts/sessions.ts';
import { noTokens, type TokenBook } from './accounts/tokens.ts';
import type { Site } from './accounts/passkeys.ts';
import { signInPace } from './accounts/sign-in-pace.ts';
import { createTries, type Tries } from './accounts/tries.ts';
import { memoryWays, type WaysBook } from './accounts/ways-book.ts';
import type { DirectoryBook } from './directory-book.ts';
import { createDowntime, type Downtime } from './downtime/downtime.ts';
import { holdsWasm, securityHeaders } from './headers.ts';
import { createLiveBoard, type LiveBoard } from './live/live-board.ts';
import { loggerOptions, type LogOptions } from './log.ts';
import { createNotice, postTo, type NoticeBody, type SendNotice } from './notice/notice.ts';
import {
  createHealth,
  downtimeCheck,
  storeCheck,
  type Check,
  type HealthCheck,
} from './operations/checks.ts';
import { createMetrics, type Metrics } from './operations/metrics.ts';
import { requestIds } from './operations/request-ids.ts';
import type { App, Demo, Parts } from './parts.ts';
import { memoryProtocols, type ProtocolBook } from './protocol-book.ts';
import { createRecordView } from './record-view.ts';
import { allRoutes } from './routes/index.ts';
import { withEntrySchemas } from './routes/openapi/entry-schemas.ts';
import type { PatientFeed } from './wires/patient-feed.ts';
import { createReaches } from './reach.ts';
import { routeFault, ruleRefusal, type Rule } from './rules.ts';
import { holdToReach } from './within.ts';
import type { ResultFeed } from './wires/result-feed.ts';
import { memoryHeld, type HeldBook } from './sealing/held-book.ts';
import { memorySealingKey, type SealingKey } from './sealing/sealing-key.ts';

export interface ServerOptions {
  readonly store: EntryStore;
  readonly directory: DirectoryBook;
  readonly accounts: AccountBook;
  /** Default: a book in memory that begins empty. */
  readonly protocols?: ProtocolBook;
  /** Default: keys of this process alone. */
  readonly sealing?: SealingKey;
  /** Default: a book in memory that begins empty. */
  readonly held?: HeldBook;
  /** Passkeys and badges. Default: a book in memory that begins empty. */
  readonly ways?: WaysBook;
  /** Where the pages stand, for passkeys. Default: where each request says it came to. */
  readonly site?: Site;
  readonly now: () => number;
  readonly log: LogOptions | false;
  readonly tokens?: TokenBook;
  /** Default: in memory; a restart ends them. */
  readonly sessions?: (lockAfterS: LockAfterS) => Sessions;
  readonly secretTries?: Tries;
  readonly pinTries?: Tries;
  readonly wayTries?: Tries;
  /** Folder of the built screens. */
  readonly webFolder?: string;
  readonly demo?: Demo;
  /** Where the unit wants its notice of overdue items. */
  readonly noticeUrl?: string;
  /** Test-only: takes notices in place of the address. */
  readonly sendNotice?: SendNotice;
  /** True behind TLS: the cookie then is for TLS alone. */
  readonly secureCookie?: boolean;
  /** False hides the names of the unit's people from the sign-in page. */
  readonly listPeople?: boolean;
  /** Where the hourly prints go, and how many sets of them stay. */
  readonly downtime?: { readonly folder: string; readonly keep: number };
  /** Checks of what lies outside this room: disk, checkpoints, schema. */
  readonly checks?: Readonly<Partial<Record<Check['name'], HealthCheck>>>;
  /** True gathers figures for `ebbline.metrics`. */
  readonly metrics?: boolean;
  /** Certificate and key, PEM: the server then speaks TLS itself. */
  readonly tls?: { readonly cert: string; readonly key: string };
  /** Addresses of the proxies in front, whose word on the client's address counts. */
  readonly trustedProxies?: readonly string[];
  /** A request that is not whole by then is cut, ms. */
  readonly requestWithinMs?: number;
  /** Requests a minute from one address. */
  readonly requestsPerMinute?: number;
  readonly signInsPerMinute?: number;
  readonly feed?: PatientFeed;
  readonly results?: ResultFeed;
  /** Test-only: more routes. */
  readonly moreRoutes?: (app: App, parts: Parts) => void;
}

export interface RouteRule {
  readonly method: string;
  readonly url: string;
  readonly rule: Rule;
}

/** What a caller of `buildServer` may do besides `inject` and `listen`. */
export interface Ebbline {
  readonly routes: readonly RouteRule[];
  readonly live: LiveBoard;
  readonly noticeTick: (nowMs: number) => Promise<readonly NoticeBody[]>;
  readonly downtime: Downtime | undefined;
  readonly metrics: Metrics | undefined;
}

declare module 'fastify' {
  interface FastifyInstance {
    ebbline: Ebbline;
  }
}

/** Most bytes of one request: 500 entries at their longest are well below it. */
export const bodyLimitBytes = 1_048_576;
/** A request has to be whole by then, however slowly its bytes come. S-common-practice */
const requestWithinMs = 30_000;

/** What the platform's own server is told: when slow requests are looked for, and whether it speaks TLS. */
function serverShape(options: ServerOptions, within: number): object {
  const shape = { headersTimeout: within, connectionsCheckingInterval: Math.min(1_000, within / 4) };
  return options.tls === undefined ? { http: shape } : { https: { ...shape, ...options.tls } };
}

export async function buildServer(options: ServerOptions): Promise<FastifyInstance> {
  const { store, directory, now } = options;
  const secure = options.secureCookie ?? false;
  const lockAfterS = (person: string): number => {
    const wards = directory.person(person)?.wards ?? [];
    const times = directory
      .current()
      .wards.filter((ward) => wards.includes(ward.id))
      .map((ward) => ward.settings.lockAfterS);
    return times.length === 0 ? defaultSettings.lockAfterS : Math.min(...times);
  };
  const sessions = (options.sessions ?? createSessions)(lockAfterS);
  const protocols = options.protocols ?? (await memoryProtocols());
  const live = createLiveBoard(
    store,
    now,
    () => protocols.count(),
    (problem) => server.log.error({ err: problem }, 'record not read for the screens'),
  );
  const view = createRecordView(store, () => directory.current());
  const downtime = options.downtime && createDowntime({ ...options.downtime, view, directory, protocols });
  const health = createHealth(
    { store: storeCheck(store), 'downtime-prints': downtimeCheck(downtime), ...options.checks },
    (name, problem) => server.log.error({ err: problem, check: name }, 'check failed'),
  );
  const metrics = options.metrics ? createMetrics({ store, live, health, downtime, now }) : undefined;
  const reaches = createReaches(store, directory);
  const secretTries = options.secretTries ?? createTries();
  const parts: Parts = {
    store,
    directory,
    protocols,
    accounts: options.accounts,
    tokens: options.tokens ?? noTokens,
    sessions,
    secretTries,
    pinTries: options.pinTries ?? createTries(),
    wayTries: options.wayTries ?? createTries(),
    pace: signInPace(secretTries),
    ways: options.ways ?? (await memoryWays()),
    site: options.site,
    live,
    feed: options.feed,
    results: options.results,
    view,
    finder: createPatientFinder(
      store,
      (id) => directory.current().wards.find((ward) => ward.id === id)?.name,
    ),
    recent: recentLooks(),
    reaches,
    sealing: options.sealing ?? (await memorySealingKey()),
    held: options.held ?? (await memoryHeld()),
    health,
    downtime,
    now,
    demo: options.demo,
    listPeople: options.listPeople ?? true,
    webFolder: options.webFolder,
    cookie: { name: secure ? '__Host-ebbline' : 'ebbline', secure },
    signInsPerMinute: options.signInsPerMinute ?? 120,
  };

  const within = options.requestWithinMs ?? requestWithinMs;
  const server = Fastify({
    logger: loggerOptions(options.log) ?? false,
    logController: new LogController({ disableRequestLogging: true }),
    bodyLimit: bodyLimitBytes,
    // At a stop idle connections go at once; a request that runs is finished.
    forceCloseConnections: 'idle',
    requestTimeout: within,
    ...serverShape(options, within),
    ...(options.trustedProxies === undefined ? {} : { trustProxy: [...options.trustedProxies] }),
    genReqId: requestIds(),
  }) as unknown as FastifyInstance;
  const app: App = server.withTypeProvider<ZodTypeProvider>();
  app.setValidatorCompiler(validatorCompiler);
  app.setSerializerCompiler(serializerCompiler);
  app.setErrorHandler(answerError);

  metrics?.watch(server);

  const routes: RouteRule[] = [];
  app.addHook('onRoute', (route) => {
    const rule = route.config?.rule;
    const fault = routeFault(`${String(route.method)} ${route.url}`, rule, route.schema);
    if (rule === undefined || fault !== undefined) throw new Error(fault);
    for (const method of [route.method].flat()) routes.push({ method, url: route.url, rule });
  });

  const headers = securityHeaders(holdsWasm(options.webFolder));
  app.decorateRequest('actor', undefined);
  app.decorateRequest('sessionEnded', false);
  await app.register(fastifyCookie);
  app.addHook('onRequest', async (request, reply) => {
    void reply.headers(headers).header('x-request-id', request.id);
    if (options.tls !== undefined) void reply.header('strict-transport-security', 'max-age=31536000');
    if (request.url.startsWith('/api') || request.url === '/healthz' || request.url === '/readyz')
      void reply.header('cache-control', 'no-store');
  });
  await app.register(fastifyRateLimit, {
    global: true,
    max: options.requestsPerMinute ?? 6_000,
    timeWindow: 60_000,
    errorResponseBuilder: (_request, context) => new AnswerError(429, tooMany(context.ttl)),
  });
  app.addHook('onRequest', async (request) => {
    const origin = request.headers.origin;
    if (request.method !== 'GET' && request.method !== 'HEAD' && origin !== undefined) {
      const sent = URL.canParse(origin) ? new URL(origin).host : '';
      if (sent !== request.headers.host) {
        throw new AnswerError(
          403,
          refuse('server/other-origin', {
            asked: 'Request',
            found: 'a page from another address',
            allowed: "this server's own pages",
            todo: 'Open the screens from this server.',
          }),
        );
      }
    }
    const rule = request.routeOptions.config.rule;
    if (rule === undefined || rule.who === 'anybody') return;
    request.actor = await actorOf(parts, request);
    request.sessionEnded = request.actor === undefined && request.cookies[parts.cookie.name] !== undefined;
    const refused = ruleRefusal(rule, request.actor, request.sessionEnded);
    if (refused) throw new AnswerError(refused.status, refused.refusal);
  });
  app.addHook('preHandler', (request) => holdToReach(parts, request));
  app.addHook('onResponse', async (request, reply) => {
    const route = request.routeOptions.url ?? 'unknown';
    request.log.info(
      {
        method: request.method,
        route,
        status: reply.statusCode,
        tookMs: Math.round(reply.elapsedTime * 10) / 10,
        by: request.actor?.id,
      },
      'answered',
    );
  });
  app.setNotFoundHandler(() => {
    throw new AnswerError(404, notThere());
  });

  await app.register(fastifySwagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Ebbline',
        version: '0.1.0',
        description: 'Entries in and out, the live line, reports. It advises; the clinician decides.',
      },
      components: {
        securitySchemes: {
          session: { type: 'apiKey', in: 'cookie', name: parts.cookie.name },
          token: { type: 'http', scheme: 'bearer' },
        },
      },
      security: [{ session: [] }, { token: [] }],
    },
    transform: jsonSchemaTransform,
    transformObject: (document) =>
      withEntrySchemas(jsonSchemaTransformObject(document) as Record<string, unknown>) as never,
  });

  const send =
    options.sendNotice ?? (options.noticeUrl === undefined ? undefined : postTo(options.noticeUrl));
  const noticeTick = send
    ? createNotice({
        store,
        view,
        send,
        failed: () => app.log.warn({ code: 'server/notice-not-taken' }, 'notice not taken'),
      })
    : async () => [];

  server.decorate('ebbline', { routes, live, noticeTick, downtime, metrics });
  for (const add of allRoutes) add(app, parts);
  options.moreRoutes?.(app, parts);
  app.addHook('preClose', async () => live.close());
  app.addHook('onClose', async () => metrics?.close());
  await app.ready();
  return server;
}
