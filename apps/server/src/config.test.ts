// Proves     settings are checked together, and the command line wins over the environment
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { isRefusal } from '@ebbline/core/quantity';
import { readConfig } from './config.ts';

describe('settings', () => {
  it('have defaults for everything', () => {
    expect(readConfig({ PATH: '/bin', EBBLINE_PORT: '' })).toMatchObject({
      dataFolder: './data',
      port: 8080,
      host: '127.0.0.1',
      secureCookie: false,
      listPeople: true,
    });
  });

  it('tell every fault at once, by name', () => {
    const refused = readConfig({
      EBBLINE_PORT: 'eighty',
      EBBLINE_NOTICE_URL: 'file:///etc/passwd',
      EBBLINE_SECURE_COOKIE: 'maybe',
    });
    expect(isRefusal(refused) && refused.code).toBe('server/config');
    for (const name of ['EBBLINE_PORT', 'EBBLINE_NOTICE_URL', 'EBBLINE_SECURE_COOKIE'])
      expect(isRefusal(refused) && refused.found).toContain(name);
  });

  it('from the command line win', () => {
    expect(
      readConfig({ EBBLINE_PORT: '1234', EBBLINE_DATA: 'a' }, { port: '4321', data: 'b' }),
    ).toMatchObject({ port: 4321, dataFolder: 'b' });
  });
});
