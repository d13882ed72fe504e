/** Who is signed in, and what may be known before anybody is. */
import { z } from 'zod';
import { roles } from '@ebbline/core/record';
import type { App, Parts } from '../../parts.ts';
import { anybody, signedIn } from '../../rules.ts';

export const personShape = z
  .object({
    id: z.string(),
    name: z.string(),
    initials: z.string(),
    role: z.enum(roles),
    wards: z.array(z.string()).readonly(),
  })
  .meta({ id: 'Person' });

export function meRoutes(app: App, parts: Parts): void {
  app.route({
    method: 'GET',
    url: '/api/me',
    config: { rule: signedIn },
    schema: {
      tags: ['people'],
      response: {
        200: z.object({
          person: personShape,
          organisation: z.string(),
          demo: z.boolean(),
          serverTime: z.string(),
        }),
      },
    },
    handler: async (request) => {
      const actor = request.actor;
      const organisation = parts.store.organisation;
      const person =
        actor?.kind === 'person'
          ? actor.person
          : {
              id: actor?.id ?? '',
              name: actor?.id ?? '',
              initials: '',
              role: actor?.role ?? ('integration' as const),
              wards: [],
            };
      return {
        person,
        organisation,
        demo: parts.demo !== undefined,
        serverTime: new Date(parts.now()).toISOString(),
      };
    },
  });

  app.route({
    method: 'GET',
    url: '/api/welcome',
    config: { rule: anybody },
    schema: {
      tags: ['people'],
      description:
        'For the sign-in page: the people of the directory when the unit shows them, and in the demo its secret and PIN.',
      response: {
        200: z.object({
          organisation: z.string(),
          people: z.array(personShape),
          demo: z.boolean(),
          secret: z.string().optional(),
          pin: z.string().optional(),
        }),
      },
    },
    handler: async () => {
      const { organisation, people } = parts.directory.current();
      return {
        organisation,
        people: parts.listPeople ? [...people] : [],
        demo: parts.demo !== undefined,
        ...parts.demo,
      };
    },
  });
}
