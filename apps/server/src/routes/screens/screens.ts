/** The built screens. Files whose names carry a hash of their content may be kept for ever; the page itself is asked for anew. */
import fastifyStatic from '@fastify/static';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { refuse } from '@ebbline/core/quantity';
import { AnswerError, notThere } from '../../answers.ts';
import type { App, Parts } from '../../parts.ts';
import { anybody } from '../../rules.ts';

export function screenRoutes(app: App, { webFolder }: Parts): void {
  const built = webFolder !== undefined && existsSync(join(webFolder, 'index.html'));
  if (built)
    void app.register(fastifyStatic, {
      root: webFolder,
      serve: false,
      cacheControl: false,
      dotfiles: 'deny',
    });

  app.route({
    method: 'GET',
    url: '/*',
    config: { rule: anybody },
    schema: { hide: true },
    handler: async (request, reply) => {
      const path = (request.params as { '*': string })['*'];
      if (path === 'api' || path.startsWith('api/')) throw new AnswerError(404, notThere());
      if (!built) {
        throw new AnswerError(
          404,
          refuse('server/screens-not-built', {
            asked: 'Page',
            found: 'no built screens',
            allowed: 'screens built with npm run build',
            todo: 'Run npm run build and start again.',
          }),
        );
      }
      const hashed = path.startsWith('assets/');
      void reply.header('cache-control', hashed ? 'public, max-age=31536000, immutable' : 'no-cache');
      return reply.sendFile(path === '' ? 'index.html' : path);
    },
  });
}
