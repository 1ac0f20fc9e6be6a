//! Lanes of houses of one form: what each asks of the stages that they share, and how it is done for
//! several at a time.
//!
//! Each house is marched by the code that marches a house alone, as a task of its own. Where a house
//! alone would have a step worked out, a lane leaves a request and waits. When every lane waits, the
//! cheapest kind of request that any has left is worked off for all lanes that wait for it, behind
//! masks: the others are neither read nor written. A lane's numbers therefore never depend on its company.

use std::cell::RefCell;
use std::future::poll_fn;
use std::task::Poll;

use crate::network::{Network, Pack, ReadFlows};
use crate::ode::{
    Advance, At, Attempt, Control, Desk, Fault, HandOut, Judgement, Lanes, Mask, OdeError, Past,
    Real, Stages, Start, Stats, System, Trial, Tried, tried,
};

use super::course::{Course, Manner, Observed, Purpose};

type LaneMask = <Lanes as Real>::Mask;

/// What a lane waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// That its state has advanced.
    Advanced,
    /// What has flowed.
    Read,
    /// The same, and what has since the books were closed last.
    Closed,
    /// What readings need at an instant.
    Observed,
    /// A look inside its step.
    Looked,
    /// Another try of its step.
    Again,
    /// A new step.
    Begun,
    /// Partial derivatives.
    Derived,
}

/// What is worked off together, the cheapest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Turn {
    Advanced,
    Looked,
    Read,
    Observed,
    Derived,
    Stepped,
}

impl Kind {
    fn turn(self) -> Turn {
        match self {
            Self::Advanced => Turn::Advanced,
            Self::Looked => Turn::Looked,
            Self::Read | Self::Closed => Turn::Read,
            Self::Observed => Turn::Observed,
            Self::Derived => Turn::Derived,
            Self::Again | Self::Begun => Turn::Stepped,
        }
    }
}

/// A request of a lane.
#[derive(Debug, Clone, Copy)]
struct Request {
    kind: Kind,
    past: Past,
    trial: Trial,
    /// Share of the step to look at.
    share: f64,
    advance: Pending,
}

/// What is to be done to a lane's state and totals before its next request is.
#[derive(Debug, Clone, Copy, Default)]
struct Pending {
    /// Totals start anew.
    anew: bool,
    /// The state advances to a share of the step in hand, or to its end.
    hand_out: Option<(Option<f64>, f64)>,
    /// Only what is told inside a step is wanted of it.
    glances: bool,
}

/// What a lane has been given.
#[derive(Debug)]
enum Answer {
    Done,
    Tried(Tried),
    Fault(Fault),
}

/// The lanes' common stages, their requests and their answers.
pub(super) struct Table {
    pack: Pack,
    stages: Stages<Lanes>,
    flows: Vec<Lanes>,
    gradients: Vec<Lanes>,
    observed: ReadFlows,
    requests: Vec<Option<Request>>,
    answers: Vec<Option<Answer>>,
    /// What each lane has been given to read.
    sheets: Vec<Sheet>,
    /// Lanes that a house is in.
    seated: LaneMask,
    work: Round,
}

/// What a lane has read off. Lanes that read together are served one after the other, since the numbers
/// of all of them lie side by side.
#[derive(Debug, Clone)]
struct Sheet {
    state: Vec<f64>,
    /// Of the flows that readings need, integrated over the advance before or as they are now.
    flows: Vec<f64>,
    /// Integrals of all flows since the books were closed last, when they were.
    sums: Vec<f64>,
}

impl Sheet {
    fn blank(network: &Network) -> Self {
        let flows = network.ends().len();
        Self {
            state: vec![0.0; network.nodes().len()],
            flows: vec![0.0; flows],
            sums: vec![0.0; flows],
        }
    }

    fn copy_state(&mut self, state: &[Lanes], lane: usize) {
        for (value, lanes) in self.state.iter_mut().zip(state) {
            *value = lanes.lane(lane);
        }
    }

    fn copy_flows(&mut self, observed: &ReadFlows, flows: &[Lanes], lane: usize) {
        let copy = |value: &mut f64, lanes: &Lanes| *value = lanes.lane(lane);
        observed.each(&mut self.flows, flows, copy);
    }

    /// Takes sums over and starts them anew.
    fn close(&mut self, sums: &mut [Lanes], lane: usize) {
        for (value, lanes) in self.sums.iter_mut().zip(sums) {
            *value = lanes.lane(lane);
            lanes.set_lane(lane, 0.0);
        }
    }
}

/// What is being worked off, lane by lane.
#[derive(Debug, Clone, Copy)]
struct Round {
    lanes: LaneMask,
    kept: LaneMask,
    jumped: LaneMask,
    attempt: Attempt<Lanes>,
    share: Lanes,
    out: HandOut<Lanes>,
    begun: LaneMask,
    closed: LaneMask,
    judgement: Judgement<Lanes>,
}

impl Round {
    fn new() -> Self {
        let (one, none) = (Lanes::splat(1.0), LaneMask::NONE);
        Self {
            lanes: none,
            kept: none,
            jumped: none,
            attempt: Attempt {
                lanes: none,
                time_s: one,
                step_s: one,
            },
            share: one,
            out: HandOut {
                anew: none,
                whole: none,
                part: none,
                glance: none,
                share: one,
                step_s: one,
            },
            begun: none,
            closed: none,
            judgement: Judgement {
                error: one,
                store: one,
                sound: none,
                finite: none,
            },
        }
    }

    /// Leaves no lane in; what numbers stand in the lanes is then no matter.
    fn clear(&mut self) {
        let masks = [
            &mut self.lanes,
            &mut self.kept,
            &mut self.jumped,
            &mut self.begun,
            &mut self.closed,
            &mut self.attempt.lanes,
            &mut self.out.anew,
            &mut self.out.whole,
            &mut self.out.part,
            &mut self.out.glance,
        ];
        for mask in masks {
            *mask = LaneMask::NONE;
        }
    }

    /// Adds a lane's request.
    fn add(&mut self, lane: usize, request: &Request) {
        self.lanes = self.lanes.with(lane);
        if request.kind == Kind::Begun {
            self.begun = self.begun.with(lane);
            self.begin(lane, request.past);
        }
        if request.kind == Kind::Closed {
            self.closed = self.closed.with(lane);
        }
        self.attempt.time_s.set_lane(lane, request.trial.time_s);
        self.attempt.step_s.set_lane(lane, request.trial.step_s);
        self.share.set_lane(lane, request.share);
        if request.advance.anew {
            self.out.anew = self.out.anew.with(lane);
        }
        match request.advance.hand_out {
            Some((Some(share), step_s)) => {
                self.out.part = self.out.part.with(lane);
                if request.advance.glances {
                    self.out.glance = self.out.glance.with(lane);
                }
                self.out.share.set_lane(lane, share);
                self.out.step_s.set_lane(lane, step_s);
            }
            Some((None, _)) => self.out.whole = self.out.whole.with(lane),
            None => {}
        }
    }

    /// Adds what is known of the step before one that begins.
    fn begin(&mut self, lane: usize, past: Past) {
        match past {
            Past::Kept => self.kept = self.kept.with(lane),
            Past::Jumped => self.jumped = self.jumped.with(lane),
        }
    }
}

impl Table {
    /// A table for houses of the form of a network.
    pub(super) fn new(first: &Network) -> Self {
        let mut pack = Pack::new(first);
        let stages = Stages::new(&*pack.network());
        let network = pack.network();
        Self {
            observed: first.observed(),
            sheets: vec![Sheet::blank(first); Lanes::WIDTH],
            flows: vec![Lanes::splat(0.0); network.ends().len()],
            gradients: vec![Lanes::splat(0.0); network.gradient_pattern().len()],
            stages,
            pack,
            requests: vec![None; Lanes::WIDTH],
            answers: (0..Lanes::WIDTH).map(|_| None).collect(),
            seated: LaneMask::NONE,
            work: Round::new(),
        }
    }

    /// Whether a lane has been answered since it was looked at last.
    pub(super) fn is_answered(&self, lane: usize) -> bool {
        self.answers.get(lane).is_some_and(Option::is_some)
    }

    /// Gives a lane to a house.
    fn seat(&mut self, lane: usize, network: &Network) {
        self.seated = self.seated.with(lane);
        self.pack.put(lane, network);
        self.stages.take_capacities(self.pack.capacities());
    }

    /// Works off requests: the cheapest kind that any lane waits for, so that as many lanes as can
    /// be have come to the dearest, a step, when it is their turn.
    pub(super) fn work(&mut self) {
        let requests = self.requests.iter().flatten();
        let Some(kind) = requests.map(|request| request.kind.turn()).min() else {
            return;
        };
        self.work.clear();
        for (lane, request) in self.requests.iter().enumerate() {
            if let Some(request) = request
                && request.kind.turn() == kind
            {
                self.work.add(lane, request);
            }
        }
        self.carry_out(kind);
        self.answer(kind);
    }

    /// Does the lanes' arithmetic.
    fn carry_out(&mut self, turn: Turn) {
        let Self {
            stages,
            pack,
            work,
            flows,
            gradients,
            observed,
            sheets,
            seated,
            ..
        } = self;
        let network = pack.network();
        let lanes = work.lanes;
        stages.set_seated(*seated);
        stages.hand_out(&work.out);
        match turn {
            Turn::Advanced => {}
            Turn::Read => {
                stages.add_totals(lanes);
                for (lane, sheet) in sheets.iter_mut().enumerate() {
                    if lanes.has(lane) {
                        sheet.copy_state(&stages.state, lane);
                        sheet.copy_flows(observed, &stages.totals, lane);
                    }
                    if work.closed.has(lane) {
                        sheet.close(&mut stages.sums, lane);
                    }
                }
            }
            Turn::Looked => {
                stages.look(lanes, work.share, work.attempt.step_s);
            }
            Turn::Stepped => {
                let mut ready = lanes.and(work.begun.not());
                if work.begun.any() {
                    let start = Start {
                        kept: work.kept,
                        jumped: work.jumped,
                        time_s: work.attempt.time_s,
                    };
                    ready = ready.or(stages.begin(network, &start));
                }
                work.attempt.lanes = ready;
                work.judgement = stages.attempt(network, &work.attempt);
            }
            Turn::Observed | Turn::Derived => {
                network.attend(lanes);
                let time_s = work.attempt.time_s;
                // In lanes a fault is told by the network.
                let _ = if turn == Turn::Observed {
                    network.observe(time_s, &stages.state, flows)
                } else {
                    let result = network.flows(time_s, &stages.state, flows);
                    network.gradients(time_s, &stages.state, gradients);
                    result
                };
            }
        }
    }

    fn answer(&mut self, turn: Turn) {
        for lane in 0..Lanes::WIDTH {
            if !self.work.lanes.has(lane) {
                continue;
            }
            let time_s = self.work.attempt.time_s.lane(lane);
            let answer = match turn {
                Turn::Advanced | Turn::Looked | Turn::Read => Answer::Done,
                Turn::Stepped if self.work.attempt.lanes.has(lane) => {
                    let judgement = &self.work.judgement;
                    Answer::Tried(tried(&mut self.stages, judgement, lane, time_s))
                }
                Turn::Stepped => Answer::Fault(self.stages.take_fault(lane, time_s)),
                Turn::Observed | Turn::Derived => self
                    .pack
                    .network()
                    .fault(lane, time_s)
                    .map_or(Answer::Done, Answer::Fault),
            };
            self.requests[lane] = None;
            self.answers[lane] = Some(answer);
        }
    }
}

/// A house in a lane.
pub(super) struct InLane<'a> {
    control: Control,
    place: Place<'a>,
    /// Whether the state was put in place from outside.
    changed: bool,
}

/// A lane's place at the table.
struct Place<'a> {
    table: &'a RefCell<Table>,
    lane: usize,
    network: Network,
    watched: Vec<usize>,
    pending: Pending,
    switching: bool,
    glances: bool,
    /// What was read last; what switches look at of the state may be of another instant.
    sheet: Sheet,
}

impl<'a> InLane<'a> {
    /// Takes a lane for a network of the table's form.
    pub(super) fn new(table: &'a RefCell<Table>, lane: usize, network: Network) -> Self {
        table.borrow_mut().seat(lane, &network);
        Self {
            control: Control::new(&[]),
            changed: true,
            place: Place {
                table,
                lane,
                watched: network.watched(),
                sheet: Sheet::blank(&network),
                network,
                pending: Pending::default(),
                switching: true,
                glances: false,
            },
        }
    }
}

impl Drop for Place<'_> {
    fn drop(&mut self) {
        if let Ok(mut table) = self.table.try_borrow_mut() {
            table.seated = table.seated.and(LaneMask::NONE.with(self.lane).not());
        }
    }
}

impl Place<'_> {
    /// Leaves a request and waits until it has been worked off.
    async fn ask(&mut self, kind: Kind, past: Past, trial: Trial, share: f64) -> Answer {
        let (table, lane) = (self.table, self.lane);
        table.borrow_mut().requests[lane] = Some(Request {
            kind,
            past,
            trial,
            share,
            advance: std::mem::take(&mut self.pending),
        });
        poll_fn(|_| match table.borrow_mut().answers[lane].take() {
            Some(answer) => Poll::Ready(answer),
            None => Poll::Pending,
        })
        .await
    }

    /// The same where nothing but a time matters.
    async fn ask_at(&mut self, kind: Kind, time_s: f64) -> Answer {
        let trial = Trial {
            time_s,
            step_s: 1.0,
        };
        self.ask(kind, Past::Jumped, trial, 1.0).await
    }

    /// Has done what is pending.
    async fn settle(&mut self) {
        if self.pending.hand_out.is_some() {
            self.ask_at(Kind::Advanced, 0.0).await;
        }
    }

    /// Copies the state in place.
    fn copy(&mut self) {
        let table = self.table.borrow();
        self.sheet.copy_state(&table.stages.state, self.lane);
    }

    /// Copies what switches read.
    fn copy_watched(&mut self, at: At) {
        let table = self.table.borrow();
        let from = match at {
            At::Now => &table.stages.state,
            At::Start => &table.stages.start,
            At::Next => &table.stages.next,
        };
        for &store in &self.watched {
            self.sheet.state[store] = from[store].lane(self.lane);
        }
    }
}

/// An answer to a trial.
fn as_tried(answer: Answer) -> Tried {
    match answer {
        Answer::Tried(tried) => tried,
        Answer::Fault(fault) => Tried::Fault(fault),
        Answer::Done => Tried::Fault(Fault::NotFinite { time_s: 0.0 }),
    }
}

impl Desk for Place<'_> {
    async fn begin(&mut self, past: Past, trial: Trial) -> Result<Tried, Fault> {
        match self.ask(Kind::Begun, past, trial, 1.0).await {
            Answer::Fault(fault) => Err(fault),
            answer => Ok(as_tried(answer)),
        }
    }

    async fn again(&mut self, trial: Trial) -> Tried {
        as_tried(self.ask(Kind::Again, Past::Jumped, trial, 1.0).await)
    }

    async fn look(&mut self, share: f64, step_s: f64) {
        let trial = Trial {
            time_s: 0.0,
            step_s,
        };
        self.ask(Kind::Looked, Past::Jumped, trial, share).await;
    }

    async fn hand_out(&mut self, share: Option<f64>, step_s: f64) {
        self.settle().await;
        self.pending.hand_out = Some((share, step_s));
        self.pending.glances = self.glances;
    }

    fn switch_count(&self) -> usize {
        if self.switching {
            self.network.switch_count()
        } else {
            0
        }
    }

    async fn switches(&mut self, time_s: f64, at: At, values: &mut [f64]) {
        if at == At::Now {
            self.settle().await;
        }
        self.copy_watched(at);
        self.network.switches(time_s, &self.sheet.state, values);
    }
}

impl Course for InLane<'_> {
    fn network(&self) -> &Network {
        &self.place.network
    }

    fn change<T>(&mut self, act: impl FnOnce(&mut Network) -> T) -> T {
        let place = &mut self.place;
        let done = act(&mut place.network);
        let mut table = place.table.borrow_mut();
        table.pack.follow(place.lane, &place.network);
        done
    }

    fn renew(&mut self, manner: &Manner) {
        // The reference integrator has no lanes: see where they are given out.
        if let Manner::Steps {
            tolerances,
            first_step_s,
            most_steps,
        } = manner
        {
            let mut table = self.place.table.borrow_mut();
            table.stages.set_tolerances(self.place.lane, tolerances);
            self.control = Control::new(tolerances);
            if let Some(first_step_s) = first_step_s {
                self.control = self.control.clone().with_first_step(*first_step_s);
            }
            if let Some(most_steps) = most_steps {
                self.control = self.control.clone().with_most_steps(*most_steps);
            }
        }
    }

    fn set_state(&mut self, state: &[f64]) {
        self.place.pending = Pending::default();
        self.changed = true;
        let mut table = self.place.table.borrow_mut();
        for (lanes, value) in table.stages.state.iter_mut().zip(state) {
            lanes.set_lane(self.place.lane, *value);
        }
    }

    async fn state(&mut self) -> &[f64] {
        self.place.settle().await;
        self.place.copy();
        &self.place.sheet.state
    }

    async fn advance(
        &mut self,
        part_s: [f64; 2],
        smooth_until_s: f64,
        purpose: Purpose,
    ) -> Result<Advance, OdeError> {
        self.place.switching = purpose != Purpose::Rest;
        self.place.glances = purpose != Purpose::Close;
        self.place.pending.anew = true;
        let unchanged = !std::mem::take(&mut self.changed);
        self.control
            .advance(&mut self.place, part_s, smooth_until_s, unchanged)
            .await
    }

    async fn observe(&mut self, time_s: f64) -> Result<(), OdeError> {
        let answer = self.place.ask_at(Kind::Observed, time_s).await;
        if let Answer::Fault(fault) = answer {
            return Err(fault.into());
        }
        self.place.copy();
        let Place {
            table, lane, sheet, ..
        } = &mut self.place;
        let table = table.borrow();
        sheet.copy_flows(&table.observed, &table.flows, *lane);
        Ok(())
    }

    async fn read(&mut self, closes: bool) {
        let kind = if closes { Kind::Closed } else { Kind::Read };
        self.place.ask_at(kind, 0.0).await;
        let mut table = self.place.table.borrow_mut();
        if let Some(sheet) = table.sheets.get_mut(self.place.lane) {
            std::mem::swap(sheet, &mut self.place.sheet);
        }
    }

    fn observed(&self) -> Observed<'_> {
        Observed {
            state: &self.place.sheet.state,
            flows: &self.place.sheet.flows,
        }
    }

    fn closed_sums(&self) -> &[f64] {
        &self.place.sheet.sums
    }

    fn forget_sums(&mut self) {
        let mut table = self.place.table.borrow_mut();
        self.place
            .sheet
            .close(&mut table.stages.sums, self.place.lane);
    }

    async fn gradients(&mut self, time_s: f64) -> Result<Vec<f64>, OdeError> {
        let answer = self.place.ask_at(Kind::Derived, time_s).await;
        if let Answer::Fault(fault) = answer {
            return Err(fault.into());
        }
        let (table, lane) = (self.place.table.borrow(), self.place.lane);
        Ok(table
            .gradients
            .iter()
            .map(|lanes| lanes.lane(lane))
            .collect())
    }

    fn stats(&self) -> Stats {
        self.control.stats()
    }
}
