"""shots.csv: each bad cell is named with its line, all of them at once; what only wants a second look is a warning."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path

import pytest

from siteplan.errors import InputFaults
from siteplan.read.shot_row import COLUMNS, Shot
from siteplan.read.shots import Shots, read_shots
from tests.record_scene import FT, IN, plan

SITE = plan().site


def read(folder: Path, text: str) -> Shots:
    (folder / "shots.csv").write_text(text, encoding="utf-8")
    return read_shots(folder, SITE)


def one(folder: Path, columns: str, row: str) -> Shot:
    [shot] = read(folder, f"{columns}\n{row}\n").shots
    return shot


def faults(folder: Path, text: str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        read(folder, text)
    return [str(fault) for fault in caught.value.faults]


def test_a_whole_row(tmp_path: Path) -> None:
    (tmp_path / "p.jpg").write_bytes(b"x")
    shots = read(
        tmp_path,
        "line,what,reach,station,offset,cover,cover_error,method,error,date,time,crew,ticket,material,size,tracer_ends,photo,note\n"
        'water,bend B1,Main,1+50,2.1 ft left,56 in,1/2 in,taped,0.3 ft,2026-12-01,9:05,TC,T-88,PE,1 in,casing,p.jpg,"a, b"\n',
    )
    assert shots.warnings == ()
    [shot] = shots.shots
    assert shot.station_m == pytest.approx(150 * FT)
    assert shot.offset_m == pytest.approx(2.1 * FT)
    assert (shot.cover_m, shot.cover_error_m) == (pytest.approx(56 * IN), pytest.approx(0.5 * IN))
    assert (shot.day, shot.at) == (date(2026, 12, 1), time(9, 5))
    assert shot.evidence.private_m == pytest.approx(0.3 * FT)
    assert (shot.ticket, shot.material, shot.size, shot.tracer) == ("T-88", "PE", "1 in", "casing")
    assert (shot.photos, shot.note, shot.placing) == (("p.jpg",), "a, b", "offset")


def test_the_four_ways_to_place_a_point(tmp_path: Path) -> None:
    assert one(tmp_path, "line,station,cover", "water,0+50,56 in").placing == "station"
    ties = one(tmp_path, "line,from_1,tape_1,from_2,tape_2", "water,Well casing,50 ft,Shed SW,18.2 m")
    assert ties.ties == (("Well casing", pytest.approx(50 * FT)), ("Shed SW", pytest.approx(18.2)))
    lonlat = one(tmp_path, "line,longitude,latitude,method", "water,-112.0001,46.0001,rtk")
    assert (lonlat.placing, lonlat.lonlat) == ("lonlat", (-112.0001, 46.0001))
    assert lonlat.evidence.private_m == pytest.approx(0.15 * FT)


def test_a_phone_shares_its_shift_within_one_day_and_crew(tmp_path: Path) -> None:
    shots = read(
        tmp_path,
        "line,longitude,latitude,method,date,crew\n"
        "water,-112,46,phone,2026-12-01,TC\nwater,-112,46.0001,phone,2026-12-01,TC\nwater,-112,46.0002,phone,2026-12-02,TC\n",
    ).shots
    assert shots[0].evidence.outing == shots[1].evidence.outing != shots[2].evidence.outing


@pytest.mark.parametrize(
    ("columns", "row", "said"),
    [
        (
            "line,station",
            "watr,0+50",
            'shots.csv:2: line: found "watr", expected a line of site.toml: barn, power, water',
        ),
        ("line,station", "watr,0+50", 'did you mean "water"?'),
        ("line,station", ",0+50", "line: found no line"),
        ("line,what", "water,tee", "found no place, expected one: a station, two or three tapes"),
        ("line,station,longitude,latitude", "water,0+50,-112,46", "found 2 places"),
        ("line,station", "water,50 ft", 'station: found "50 ft", expected a station such as "1+35.5"'),
        (
            "line,station,offset",
            "water,0+50,2 ft",
            'an offset with its side looking up-station, such as "2.1 ft left"',
        ),
        ("line,station,offset", "water,0+50,2 left", 'offset: found "2", which has no unit'),
        ("line,station,cover", "water,0+50,56", 'cover: found "56", which has no unit'),
        ("line,station,cover", "water,0+50,-5 in", "cover: found"),
        (
            "line,station,cover",
            "water,0+50,56 ft",
            "cover: found a cover of 56 ft, expected at most 20 ft (6 m); is it inches",
        ),
        ("line,from_1,tape_1,from_2,tape_2", "water,A,42,B,10 ft", 'tape_1: found "42", which has no unit'),
        ("line,from_1,tape_1", "water,A,42 ft", "found one tape, expected tapes from two or three corners"),
        (
            "line,from_1,tape_1,from_2,tape_2",
            "water,A,42 ft,B,",
            "tape_2: found nothing, expected a corner and the tape",
        ),
        ("line,from_1,tape_1,from_2,tape_2", "water,A,4 ft,a,5 ft", "two tapes from one corner"),
        (
            "line,from_1,tape_1,from_2,tape_2,side",
            "water,A,4 ft,B,5 ft,up",
            'side: found "up", expected one of left, right',
        ),
        ("line,longitude,latitude", "water,-112,46", "found no method"),
        ("line,longitude,latitude,method", "water,46,-112,rtk", "found latitude -112"),
        ("line,longitude,latitude,method", "water,-112,,rtk", "found no latitude"),
        (
            "line,x,y",
            "water,4 ft,5 ft",
            "found x and y, expected longitude and latitude, as the site has no tape grid",
        ),
        ("line,station,method", "water,0+50,tapd", 'found "tapd", expected one of'),
        ("line,station,method", "water,0+50,stated", "found no error"),
        ("line,station,date", "water,0+50,12/1/2026", "date: found"),
        ("line,station,time", "water,0+50,25:00", "time: found"),
        ("line,reach,longitude,latitude,method", "water,Main,-112,46,rtk", "found reach without a station"),
        ("line,station,note", f"water,0+50,{'x' * 2000}", "note: found a text of 2000 characters"),
        ("line,station,cover", f"water,0+50,{'0' * 2000}1 in", "cover: found a text of 2004 characters"),
        (
            "line,station,error",
            "water,0+50,9999 ft",
            "error: found an error of 9999 ft, expected at most 300 ft",
        ),
        ("line,staton", "water,0+50", 'found the column "staton"'),
        ("line,staton", "water,0+50", 'did you mean "station"?'),
    ],
)
def test_each_bad_cell_is_named(tmp_path: Path, columns: str, row: str, said: str) -> None:
    lines = faults(tmp_path, f"{columns}\n{row}\n")
    assert any(said in line for line in lines), lines
    assert all(line.startswith("shots.csv:") for line in lines)
    assert all("\n" not in line for line in lines)


def test_all_faults_of_all_rows_at_once(tmp_path: Path) -> None:
    lines = faults(tmp_path, "line,station,cover\nwatr,0+50,56\nwater,0+60,56 in\nwater,6,x\n")
    assert [line.split(":")[1] for line in lines] == ["2", "2", "4", "4"]


def test_an_empty_file_no_rows_and_no_file(tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match="found no such file"):
        read_shots(tmp_path, SITE)
    assert "an empty file" in faults(tmp_path, "")[0]
    assert "found no rows" in faults(tmp_path, "line,station\n")[0]


def test_warnings_about_photos_and_times(tmp_path: Path) -> None:
    shots = read(
        tmp_path,
        "line,station,date,time,crew,photo\n"
        "water,0+10,2026-12-01,10:00,TC,a.jpg; ../b.jpg\n"
        "water,0+20,2026-12-01,09:30,TC,\nwater,0+30,2026-12-01,08:00,other,\nwater,0+40,2026-12-02,07:00,TC,\n",
    )
    assert shots.warnings == (
        "shots.csv:2: the photo a.jpg is not in the folder of the site",
        "shots.csv:2: the photo ../b.jpg is not in the folder of the site",
        "shots.csv:3: 09:30 stands after 10:00 of line 2, same day and crew",
    )


def test_the_same_row_twice_is_one(tmp_path: Path) -> None:
    shots = read(
        tmp_path, "line,station,cover\nwater,0+50,56 in\nwater,0+60,56 in\nwater,0+50, 56  IN\n"
    ).shots
    assert [round(shot.station_m / FT) for shot in shots if shot.station_m] == [50, 60]


def test_every_column_is_taken(tmp_path: Path) -> None:
    assert one(tmp_path, ",".join(COLUMNS), "water,,,0+50" + "," * (len(COLUMNS) - 4)).station_m


@pytest.mark.parametrize("what", ["B2", "b2", "bend B2", "Bend  b02"])
def test_a_bend_has_one_name(tmp_path: Path, what: str) -> None:
    assert one(tmp_path, "line,what,station", f"water,{what},0+50").what == "bend B2"
