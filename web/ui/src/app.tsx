import type { ComponentChildren, ComponentType, JSX } from "preact";
import { StoreContext } from "./context";
import { Board } from "./board/Board";
import { Banner } from "./board/Banner";
import { Footer } from "./board/Footer";
import { AlertsPage } from "./pages/AlertsPage";
import { SignInAgain } from "./pages/SignInAgain";
import { SignIn } from "./pages/SignIn";
import { SetUp } from "./pages/SetUp";
import { Bar } from "./nav/Bar";
import { lazy } from "./lazy";
import { ContainerSheet } from "./load/ContainerSheet";
import { ScanFlash } from "./scan/ScanFlash";
import { UndoToast } from "./load/UndoToast";
import { route, type Route } from "./route";
import type { Store } from "./state/store";

const pages: Record<Route, ComponentType> = {
  board: Board,
  alerts: AlertsPage,
  runs: lazy(() => import("./runs/RunList").then((m) => m.RunList)),
  report: lazy(() => import("./report/ReportPage").then((m) => m.ReportPage)),
  load: lazy(() => import("./load/LoadPage").then((m) => m.LoadPage)),
  rolls: lazy(() => import("./rolls/RollsPage").then((m) => m.RollsPage)),
  mixes: lazy(() => import("./chemistry/MixesPage").then((m) => m.MixesPage)),
  waste: lazy(() => import("./waste/WastePage").then((m) => m.WastePage)),
  start: lazy(() => import("./load/StartPage").then((m) => m.StartPage)),
  "hand-over": lazy(() => import("./handover/HandOverPage").then((m) => m.HandOverPage)),
  figures: lazy(() => import("./figures/FiguresPage").then((m) => m.FiguresPage)),
  strips: lazy(() => import("./strips/StripsPage").then((m) => m.StripsPage)),
  duty: lazy(() => import("./duty/DutyPage").then((m) => m.DutyPage)),
  unit: lazy(() => import("./unit/UnitPage").then((m) => m.UnitPage)),
  settings: lazy(() => import("./settings/SettingsPage").then((m) => m.SettingsPage)),
  "set-up": lazy(() => import("./setup/SetUpSteps").then((m) => m.SetUpSteps)),
  alert: lazy(() => import("./alert/AlertPage").then((m) => m.AlertPage)),
};

export function App({ store }: { store: Store }): JSX.Element {
  return (
    <StoreContext.Provider value={store}>
      <Inside store={store} />
    </StoreContext.Provider>
  );
}

function Inside({ store }: { store: Store }): JSX.Element {
  const session = store.session.value;
  if (session === null) {
    const trouble = store.sessionTrouble.value;
    return (
      <Alone>
        <p role="status">{trouble || "Opening the board…"}</p>
        {trouble && <button class="plain" onClick={() => void store.refreshSession()}>Try again</button>}
      </Alone>
    );
  }
  if (session.setup_needed) return <SetUp />;
  if (!session.name) return <SignIn />;
  const Page = pages[route.value];
  const old = store.link.value.state !== "up" && store.ready.value;
  return (
    <div class={old ? "page old" : "page"}>
      <div class="top">
        <Banner />
        <Bar />
      </div>
      <main id="main">
        <Page />
      </main>
      <Footer />
      <ContainerSheet />
      <UndoToast />
      {store.ended.value ? <SignInAgain /> : <ScanFlash />}
      <p class="unseen" role="alert">{store.spoken.value}</p>
    </div>
  );
}

function Alone({ children }: { children: ComponentChildren }): JSX.Element {
  return <main class="alone">{children}</main>;
}
