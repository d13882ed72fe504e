/**
 * Every failure leaves the server as one refusal: what was asked, found, allowed, what to do, code. Bodies are
 * `{ refusal }`. What a caller sent is never written to the log: only the code is.
 */
import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { hasZodFastifySchemaValidationErrors } from 'fastify-type-provider-zod';
import { refuse, RefusalError, type Refusal } from '@ebbline/core/quantity';
import { z } from 'zod';

/** A refusal thrown inside a route with the HTTP status that it leaves under. */
export class AnswerError extends RefusalError {
  readonly statusCode: number;
  constructor(statusCode: number, refusal: Refusal) {
    super(refusal);
    this.statusCode = statusCode;
  }
}

export const refusalShape = z
  .object({
    refused: z.literal(true),
    code: z.string(),
    asked: z.string(),
    found: z.string(),
    allowed: z.string(),
    todo: z.string(),
    where: z.string().optional(),
  })
  .meta({
    id: 'Refusal',
    description: 'What was asked, what was found, what is allowed, what to do, and a stable code.',
  });

export const refusalBody = z.object({ refusal: refusalShape }).meta({ id: 'RefusalBody' });

export const notThere = (): Refusal =>
  refuse('server/not-there', {
    asked: 'Page',
    found: 'no such address',
    allowed: 'the addresses in /openapi.json',
    todo: 'Check the address.',
  });

export const tooMany = (waitMs: number): Refusal =>
  refuse('server/too-many', {
    asked: 'Request',
    found: 'too many requests in a short time',
    allowed: 'fewer',
    todo: `Wait ${Math.ceil(waitMs / 1000)} s and try again.`,
  });

function asRefusal(
  error: FastifyError & { refusal?: Refusal },
  request: FastifyRequest,
): { status: number; refusal: Refusal } {
  if (error.refusal) return { status: error.statusCode ?? 422, refusal: error.refusal };
  if (hasZodFastifySchemaValidationErrors(error)) {
    const [issue] = error.validation;
    return {
      status: 400,
      refusal: refuse('server/not-as-described', {
        asked: 'Request',
        found: issue?.message ?? 'other parts than described',
        allowed: 'what /openapi.json describes for this address',
        todo: 'Correct the request and send it again.',
        where: `${error.validationContext ?? 'body'}${issue?.instancePath ?? ''}`,
      }),
    };
  }
  const length = request.headers['content-length'];
  const size = length === undefined ? 'a body' : `a body of ${length} bytes`;
  switch (error.code) {
    case 'FST_ERR_CTP_INVALID_JSON_BODY':
    case 'FST_ERR_CTP_EMPTY_JSON_BODY':
    case 'FST_ERR_CTP_INVALID_CONTENT_LENGTH':
      return {
        status: 400,
        refusal: refuse('server/not-json', {
          asked: 'Request',
          found: `${size} that is empty, breaks off or is not JSON`,
          allowed: 'one whole JSON value',
          todo: 'Send it again, whole. Nothing of it was kept.',
        }),
      };
    case 'FST_ERR_CTP_BODY_TOO_LARGE':
      return {
        status: 413,
        refusal: refuse('server/too-large', {
          asked: 'Request',
          found: size,
          allowed: `at most ${request.server.initialConfig.bodyLimit ?? 0} bytes`,
          todo: 'Send fewer entries at once.',
        }),
      };
    case 'FST_ERR_CTP_INVALID_MEDIA_TYPE':
      return {
        status: 415,
        refusal: refuse('server/not-json', {
          asked: 'Request',
          found: 'a body of another type',
          allowed: 'content-type application/json',
          todo: 'Send JSON.',
        }),
      };
    default:
  }
  if (error.statusCode !== undefined && error.statusCode >= 400 && error.statusCode < 500) {
    return {
      status: error.statusCode,
      refusal: refuse('server/not-understood', {
        asked: 'Request',
        found: 'a request that cannot be read',
        allowed: 'what /openapi.json describes',
        todo: 'Correct the request and send it again.',
      }),
    };
  }
  return {
    status: 500,
    refusal: refuse('server/failed', {
      asked: 'Request',
      found: 'a failure inside the server',
      allowed: 'an answer',
      todo: 'Nothing of this request was kept. Try again; if it stays, tell whoever looks after the server.',
    }),
  };
}

export function answerError(error: FastifyError, request: FastifyRequest, reply: FastifyReply): void {
  const { status, refusal } = asRefusal(error, request);
  if (status >= 500) request.log.error({ err: error, code: refusal.code }, 'failed');
  else request.log.info({ code: refusal.code, status }, 'refused');
  void reply.code(status).type('application/json; charset=utf-8').send(JSON.stringify({ refusal }));
}

/** Two changed the same thing at once, here or at another server; the later one would undo the earlier. */
export const changedMeanwhile = (asked: string): Refusal =>
  refuse('server/changed-meanwhile', {
    asked,
    found: 'a change that somebody else made in the meantime',
    allowed: 'a change of what stands there now',
    todo: 'Look at it again, then repeat the change.',
  });

/** A PDF to look at. No name and no identifier in the file's name: it stays on the machine that printed it. */
export const sendPdf = (reply: FastifyReply, name: string, bytes: Uint8Array): FastifyReply =>
  reply
    .type('application/pdf')
    .header('content-disposition', `inline; filename="${name}.pdf"`)
    .send(Buffer.from(bytes) as never);
