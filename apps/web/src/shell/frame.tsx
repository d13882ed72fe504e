/** Head, network line, one page, foot. */
import { createElement, Suspense, useEffect, useRef, useState, type ReactNode } from 'react';
import { Empty } from '../shared/plate.tsx';
import { addressOf, useAddress } from './address.ts';
import { dayWords, timeWords } from './day-words.ts';
import { FaultBoundary } from './fault-boundary.tsx';
import { useDirectory, useMe, useNow, WardContext } from './hooks.ts';
import { NetworkLine } from './network-line.tsx';
import { PersonMenu } from './person-menu.tsx';
import { fetchAllPages, pageNames, pageOf, patientOf, places, viewOf } from './places.ts';
import { reachesPages, RoleHome } from './role-home.tsx';
import { useSession } from './session-context.ts';
import { chooseWard, wardFor, wardsOf } from './this-ward.ts';
import { isShownPage } from '@ebbline/core/record';
import { viewLog } from './view-log.ts';
import styles from './frame.module.css';

/** The first page is drawn and the record is read before the other pages are fetched. */
const fetchAfterMs = 5000;

function NamedPage({ name, path }: { readonly name: string; readonly path: readonly string[] }): ReactNode {
  const page = pageOf(name);
  return page ? createElement(page, { path }) : <Empty>There is no such page. Choose one above.</Empty>;
}

function Clock({ zone }: { readonly zone: string }): ReactNode {
  const now = useNow();
  return (
    <p className={styles['clock']}>
      <span className={styles['day']}>{dayWords(now, zone)} </span>
      <b>{timeWords(now, zone)}</b>
    </p>
  );
}

export function Frame(): ReactNode {
  const me = useMe();
  const directory = useDirectory();
  const address = useAddress();
  const session = useSession();
  const [, redraw] = useState(0);
  const content = useRef<HTMLElement>(null);
  const shown = useRef(address.page);
  const place = [address.page, ...address.path].join('/');
  const stood = useRef(place);
  const ward = wardFor(me, directory);
  const mine = wardsOf(me, directory);
  const onWall = address.page === 'wall';

  useEffect(() => {
    session.keepOpen(onWall);
    // Whoever walks up to the wall and leaves it is asked who they are.
    if (!onWall && shown.current === 'wall') session.lock();
    if (shown.current !== address.page) {
      // A page that has put the focus where it wants it, as a form does, keeps it there.
      if (!content.current?.contains(document.activeElement)) content.current?.focus({ preventScroll: true });
    }
    // Another place begins at its top; a form moves itself to where its keys are, after this.
    if (stood.current !== place) scrollTo(0, 0);
    stood.current = place;
    shown.current = address.page;
    document.title = `${places.find((place) => place.name === address.page)?.label ?? 'Ebbline'} · Ebbline`;
  }, [address.page, onWall, place, session]);

  useEffect(() => {
    const timer = setTimeout(() => void fetchAllPages(), fetchAfterMs);
    return () => clearTimeout(timer);
  }, []);

  const view = viewOf(address.page);
  const mayOpen = view === undefined || reachesPages(me.role, view);
  const patient = patientOf(address.page, address.path);
  const showing = address.page === 'patient' && address.path[1] === 'telephone' ? 'telephone' : address.page;
  useEffect(() => {
    // Every look at a record is noted, whichever page shows it.
    if (!mayOpen || !isShownPage(showing)) return;
    viewLog.note({
      person: me.id,
      shown: showing,
      ...(patient === undefined ? {} : { patient }),
      ...(patient === undefined && ward !== undefined ? { ward: ward.id } : {}),
    });
  }, [mayOpen, me.id, showing, patient, ward]);

  if (!ward) {
    return (
      <main className={styles['frame']}>
        <Empty>No ward is set up yet. Start one with "ebbline setup", or ask whoever runs this server.</Empty>
      </main>
    );
  }
  const body = !mayOpen ? (
    <RoleHome role={me.role} />
  ) : (
    <Suspense fallback={<p className="quiet">Opening…</p>}>
      <FaultBoundary of={[address.page, ...address.path].join('/')}>
        <NamedPage name={address.page} path={address.path} />
      </FaultBoundary>
    </Suspense>
  );

  if (onWall) {
    return (
      <WardContext value={ward}>
        <main ref={content} tabIndex={-1}>
          {body}
        </main>
      </WardContext>
    );
  }
  return (
    <WardContext value={ward}>
      <div className={styles['frame']}>
        <a
          className={styles['skip']}
          href="#content"
          onClick={(event) => (event.preventDefault(), content.current?.focus())}
        >
          To the content
        </a>
        <header className={styles['head']}>
          <span className={styles['name']}>Ebbline</span>
          <div className={styles['ward']}>
            {mine.length > 1 ? (
              <select
                aria-label="Ward"
                value={ward.id}
                onChange={(event) => {
                  chooseWard(me, event.target.value);
                  redraw((count) => count + 1);
                }}
              >
                {mine.map((one) => (
                  <option key={one.id} value={one.id}>
                    {one.name}
                  </option>
                ))}
              </select>
            ) : (
              <span className={styles['title']}>{ward.name}</span>
            )}
            <span className={styles['purpose']}>
              {ward.hospital} · {ward.purpose}
            </span>
          </div>
          <nav className={styles['places']} aria-label="Pages">
            {places
              .filter((place) => pageNames.has(place.name) && reachesPages(me.role, place.view))
              .map((place) => (
                <a
                  key={place.name}
                  href={addressOf(place.name)}
                  aria-current={place.name === address.page ? 'page' : undefined}
                >
                  <span>{place.label}</span>
                </a>
              ))}
            <PersonMenu />
          </nav>
          <Clock zone={ward.zone} />
        </header>
        <NetworkLine />
        <main id="content" ref={content} tabIndex={-1} className={styles['content']}>
          {body}
        </main>
        <footer className={styles['foot']}>
          <span>
            Advises; the clinician decides. The unit's protocol, scope of practice and prescribers' orders
            come first.
          </span>
        </footer>
      </div>
    </WardContext>
  );
}
