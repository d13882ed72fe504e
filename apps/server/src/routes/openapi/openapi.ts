import type { App } from '../../parts.ts';
import { anybody } from '../../rules.ts';

export function openapiRoutes(app: App): void {
  app.route({
    method: 'GET',
    url: '/openapi.json',
    config: { rule: anybody },
    schema: { hide: true },
    handler: async (_request, reply) =>
      reply.type('application/json; charset=utf-8').send(JSON.stringify(app.swagger())),
  });
}
