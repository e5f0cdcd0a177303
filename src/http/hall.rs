//! Tells one board of the hall how the class stands, at every change.
//!
//! Not here: pictures, which no board gets, or any rule about who stands where.

use std::time::Duration;

use afterturn_core::{
    kernel::StationNumber,
    plan::Mark,
    rotation::ClickedAt,
    wire::{Applies, FromScreen, FromServer, Hall, HallGroup, HallStation, PROTOCOL},
};
use futures_util::{SinkExt, StreamExt};
use tokio::time::{Instant, sleep_until, timeout};
use warp::ws::{Message, WebSocket};

use super::{App, BUILD, class::is_id, sound::Ear};
use crate::door::{Action, Pass};
use crate::units::{group_mark, on_wire};

/// At least this often a board hears how the class is.
const HEARTBEAT: Duration = Duration::from_millis(500);
/// A socket that takes nothing for this long is closed.
const STUCK: Duration = Duration::from_secs(15);
/// What a board may say in half a second: it asks the time, and no more.
const MOST_SAID: u32 = 150;

/// Serves one board until it goes, is removed, or the server stops.
pub(super) async fn serve(mut ws: WebSocket, app: App, pass: Pass) {
    let mut stop = app.stop.clone();
    tokio::select! {
        biased;
        _ = stop.wait_for(|stop| *stop) => {}
        _ = talk(&mut ws, &app, pass) => {}
    }
    let _ = timeout(Duration::from_secs(1), ws.close()).await;
}

/// Ends where there is nobody left to talk to.
async fn talk(ws: &mut WebSocket, app: &App, pass: Pass) -> Option<()> {
    let hello = FromServer::Hello {
        protocol: PROTOCOL,
        build: BUILD.to_owned(),
        station: 0,
        now_us: app.lesson.now(),
    };
    say(ws, &hello).await?;
    let mut class = app.lesson.changes();
    let mut sheets = app.sheets.changes();
    let mut let_in = app.entrance.changes();
    let mut ear = Ear::new(&app.sound, &app.lesson, pass, None);
    loop {
        let grant = app.entrance.still(pass);
        if !grant.is_some_and(|grant| grant.may(Action::SeeHall, None)) {
            return say(ws, &FromServer::Removed).await;
        }
        class.mark_unchanged();
        sheets.mark_unchanged();
        let_in.mark_unchanged();
        say(ws, &FromServer::Hall(board(app))).await?;
        if let Some(news) = ear.news() {
            say(ws, &news).await?;
        }
        let beat = Instant::now() + HEARTBEAT;
        let mut said = 0;
        loop {
            let message = tokio::select! {
                message = ws.next() => message?.ok()?,
                _ = class.changed() => break,
                _ = sheets.changed() => break,
                _ = let_in.changed() => break,
                () = ear.changed() => break,
                () = sleep_until(beat) => break,
            };
            said += 1;
            if said > MOST_SAID {
                return None;
            }
            hear(ws, app, pass, &ear, &message).await?;
        }
    }
}

async fn hear(
    ws: &mut WebSocket,
    app: &App,
    pass: Pass,
    ear: &Ear,
    message: &Message,
) -> Option<()> {
    let t2_us = app.lesson.now();
    let Ok(text) = message.to_str() else {
        return (!message.is_binary() && !message.is_close()).then_some(());
    };
    match serde_json::from_str(text) {
        Ok(FromScreen::Clock { t1_us }) => {
            let t3_us = app.lesson.now();
            say(
                ws,
                &FromServer::Clock {
                    t1_us,
                    t2_us,
                    t3_us,
                },
            )
            .await
        }
        Ok(FromScreen::Click { id, click }) if is_id(&id) => {
            let grant = app.entrance.still(pass);
            let may = grant.is_some_and(|grant| grant.may(Action::Click, None));
            if may && app.clickers.at(None).moves_class() {
                app.lesson.click(&id, ClickedAt::Hall, click);
            }
            Some(())
        }
        Ok(FromScreen::Click { .. }) => None,
        Ok(FromScreen::Speak {}) => {
            ear.speak();
            Some(())
        }
        Ok(FromScreen::Sound {
            ready,
            plays,
            failed,
        }) => {
            ear.heard(ready, plays, failed);
            Some(())
        }
        Ok(FromScreen::Want { .. } | FromScreen::Report { .. } | FromScreen::Again {}) => Some(()),
        Err(error) => {
            let detail = error.to_string();
            say(ws, &FromServer::Refused { detail }).await?;
            None
        }
    }
}

fn board(app: &App) -> Hall {
    let (time, stations, groups) = app.lesson.hall();
    let (view, look) = app.sheets.hall();
    let mark = |number: u8| {
        let number = StationNumber::try_from(i64::from(number));
        let mark: Mark = app.sheets.mark(number.expect("it is a station's"));
        on_wire(mark)
    };
    let stations = stations.into_iter().map(|station| HallStation {
        mark: mark(station.number),
        closed: station.closed,
    });
    let groups = groups.into_iter().filter(|group| group.children > 0);
    Hall {
        applies: Applies::Live,
        time,
        stations: stations.collect(),
        groups: groups
            .map(|group| HallGroup {
                mark: group_mark(group.group.get()),
                station: group.station,
                works: group.works,
                next: group.next,
            })
            .collect(),
        view,
        look,
        refine: app.lesson.refinement(),
    }
}

async fn say(ws: &mut WebSocket, message: &FromServer) -> Option<()> {
    let text = serde_json::to_string(message).expect("a message is plain data");
    timeout(STUCK, ws.send(Message::text(text)))
        .await
        .ok()?
        .ok()
}
