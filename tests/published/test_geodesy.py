"""Published geodesy, against the functions that siteplan measures with.

Every number below was printed or coded by somebody else; the source stands beside it. The centre of a frame is put
on the first point, where the plane's distance and bearing are those of the geodesic, at any range.
"""

from __future__ import annotations

import math

import pytest
from pyproj import Proj
from shapely import LineString, Point

from siteplan.plane.frame import Frame
from siteplan.read.gis_file import reproject
from siteplan.units import FOOT_M, US_SURVEY_FOOT_M

GRID_RADIUS_FT = 20_906_000


def dms(degrees: int, minutes: int, seconds: float) -> float:
    return math.copysign(abs(degrees) + minutes / 60 + seconds / 3600, degrees)


def ahead(latitude1: float, longitude1: float, latitude2: float, longitude2: float) -> tuple[float, float]:
    """Distance [m] and bearing [deg] from the first place to the second, in a frame on the first, height 0."""
    frame = Frame(longitude_deg=longitude1, latitude_deg=latitude1)
    spot = frame.to_ground(Point(longitude2, latitude2))
    return math.hypot(spot.x, spot.y), math.degrees(math.atan2(spot.x, spot.y)) % 360


# C. Karney, GeographicLib for Python, test suite: GeodSolve0 and rows 1 and 17 of its table (WGS 84).
@pytest.mark.parametrize(
    ("places", "distance_m", "bearing_deg", "within_m", "within_deg"),
    [
        ((40.6, -73.8, 49.01666667, 2.55), 5853226, 53.47022, 0.5, 0.5e-5),
        ((35.60777, -139.44815, -11.17491, -69.95921), 8935244.56048183, 111.09874842956033, 1e-6, 1e-9),
        ((-41.22777, 122.32875, -7.57291, 130.37946), 3812686.035106021, 14.285113402275739, 1e-6, 1e-9),
    ],
)
def test_long_lines(
    places: tuple[float, float, float, float],
    distance_m: float,
    bearing_deg: float,
    within_m: float,
    within_deg: float,
) -> None:
    distance, bearing = ahead(*places)
    assert distance == pytest.approx(distance_m, abs=within_m)
    assert bearing == pytest.approx(bearing_deg, abs=within_deg)


def test_place_from_distance_and_bearing() -> None:
    """Karney, GeographicLib for Python, test suite, GeodSolve1 (direct problem)."""
    frame = Frame(longitude_deg=-73.77888889, latitude_deg=40.63972222)
    bearing = math.radians(53.5)
    place = frame.to_lonlat(Point(5850000 * math.sin(bearing), 5850000 * math.cos(bearing)))
    assert (place.y, place.x) == (pytest.approx(49.01467, abs=0.5e-5), pytest.approx(2.56106, abs=0.5e-5))


# First: C. Veness, geodesy library, latlon-ellipsoidal-vincenty-tests "small dist"; second: Karney, GeodSolve4.
@pytest.mark.parametrize(
    ("places", "distance_m"),
    [((0, 0, 1e-5, 1e-5), 1.569), ((36.493349428792, 0, 36.49334942879201, 8e-7), 0.072)],
)
def test_lines_of_a_stride_and_less(places: tuple[float, float, float, float], distance_m: float) -> None:
    assert ahead(*places)[0] == pytest.approx(distance_m, abs=0.0005)


def test_flinders_peak_to_buninyong() -> None:
    """ICSM, Geocentric Datum of Australia Technical Manual, worked example (GRS 80; its flattening differs from WGS 84
    in the eleventh decimal), as coded in Geoscience Australia's GeodePy tests.
    """
    flinders = dms(-37, 57, 3.72030), dms(144, 25, 29.52440)
    buninyong = dms(-37, 39, 10.15610), dms(143, 55, 35.38390)
    distance, bearing = ahead(*flinders, *buninyong)
    assert distance == pytest.approx(54972.271, abs=0.0005)
    assert bearing == pytest.approx(dms(306, 52, 5.37), abs=0.005 / 3600)
    distance, bearing = ahead(*buninyong, *flinders)
    assert distance == pytest.approx(54972.271, abs=0.0005)
    assert bearing == pytest.approx(dms(127, 10, 25.07), abs=0.005 / 3600)


def test_a_section_line_also_in_a_frame_about_its_middle() -> None:
    """Geoscience Australia, GeodePy tests, test_vincinv (GRS 80)."""
    places = -29.85, 140.71666666666667, -29.85, 140.76666666666668
    distance, bearing = ahead(*places)
    assert distance == pytest.approx(4831.553, abs=0.0005)
    assert bearing == pytest.approx(dms(90, 0, 44.80), abs=0.005 / 3600)
    middle = Frame(longitude_deg=140.741667, latitude_deg=-29.85)
    line = LineString([(places[1], places[0]), (places[3], places[2])])
    assert middle.to_ground(line).length == pytest.approx(4831.553, abs=0.001)


def test_map_grid_of_australia_to_lonlat() -> None:
    """ICSM GDA Technical Manual, Flinders Peak in MGA94 zone 55, as in GeodePy's test_vincinv_utm."""
    place = reproject([Point(273741.2966, 5796489.7769)], 28355)[0]
    assert place.x == pytest.approx(dms(144, 25, 29.52440), abs=0.0005 / 88_000)
    assert place.y == pytest.approx(dms(-37, 57, 3.72030), abs=0.0005 / 111_000)


def test_bergen_utm_to_lonlat() -> None:
    """C. Veness, geodesy library, utm-mgrs-tests "bergen" (WGS 84, zone 32N)."""
    place = reproject([Point(297508.41, 6700645.30)], 32632)[0]
    assert (place.x, place.y) == (pytest.approx(5.3249, abs=2e-7), pytest.approx(60.39135, abs=1e-7))


# IOGP GIGS tests 5103.2 and 5103.3 as shipped with PROJ: NAD83(HARN) Utah North, the same places in both feet.
GIGS_5103 = [
    ((-110, 49), (2003937.27, 6452491.70), (2003933.27, 6452478.80)),
    ((-110, 41), (2054436.57, 3527302.73), (2054432.46, 3527295.67)),
]


@pytest.mark.parametrize(("lonlat", "international", "survey"), GIGS_5103)
def test_state_plane_in_either_foot(
    lonlat: tuple[float, float], international: tuple[float, float], survey: tuple[float, float]
) -> None:
    for epsg, expected in ((2921, international), (3568, survey)):
        easting, northing = Proj(f"EPSG:{epsg}")(*lonlat)
        assert (easting, northing) == (
            pytest.approx(expected[0], abs=0.01),
            pytest.approx(expected[1], abs=0.01),
        )


def test_survey_csv_in_either_foot_is_one_place() -> None:
    """GIGS 5103, second place, through our own reader's way in; 13 ft apart if the feet were taken for one another.

    The change of datum to WGS 84 moves both by the same metre, so the two are compared with one another.
    """
    _, international, survey = GIGS_5103[1]
    one, other = reproject([Point(international)], 2921)[0], reproject([Point(survey)], 3568)[0]
    frame = Frame(longitude_deg=-110.0, latitude_deg=41.0)
    assert frame.to_ground(one).distance(frame.to_ground(other)) < 0.01 * FOOT_M
    wrong = reproject([Point(survey)], 2921)[0]
    assert frame.to_ground(one).distance(frame.to_ground(wrong)) > 8 * FOOT_M
    assert one.distance(Point(-110, 41)) < 2e-5


# The library under the frame, as built here: Snyder, USGS Professional Paper 1395 (1987), appendix A; IOGP Guidance
# Note 7-2 (Lambert 2SP, NAD27 Texas South Central, US survey feet); Ordnance Survey, A Guide to Coordinate Systems in
# Great Britain, annexe C.
@pytest.mark.parametrize(
    ("projection", "lonlat", "expected", "within"),
    [
        (
            "+proj=tmerc +a=6378206.4 +rf=294.9786982 +lon_0=-75 +k=0.9996",
            (-73.5, 40.5),
            (127106.5, 4484124.4),
            0.05,
        ),
        (
            "+proj=lcc +a=6378206.4 +rf=294.9786982 +lat_1=33 +lat_2=45 +lat_0=23 +lon_0=-96",
            (-75, 35),
            (1894410.9, 1564649.5),
            0.05,
        ),
        (
            "+proj=lcc +ellps=clrk66 +lat_0=27d50 +lon_0=-99 +lat_1=28d23 +lat_2=30d17"
            f" +x_0={2_000_000 * US_SURVEY_FOOT_M!r} +units=us-ft",
            (-96, 28.5),
            (2963503.91, 254759.80),
            0.005,
        ),
        (
            "+proj=tmerc +ellps=airy +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000",
            (1 + 43 / 60 + 4.5177 / 3600, 52 + 39 / 60 + 27.2531 / 3600),
            (651409.903, 313177.270),
            0.001,
        ),
    ],
)
def test_projections(
    projection: str, lonlat: tuple[float, float], expected: tuple[float, float], within: float
) -> None:
    x, y = Proj(projection)(*lonlat)
    assert (x, y) == (pytest.approx(expected[0], abs=within), pytest.approx(expected[1], abs=within))


def test_utm_point_scale_and_convergence() -> None:
    """C. Veness, geodesy library, "bergen": how much a zoned grid differs from the tape, and its north from true."""
    factors = Proj("EPSG:32632").get_factors(5.3249, 60.39135)
    assert factors.meridional_scale == pytest.approx(1.000102473211, abs=1e-10)
    assert factors.meridian_convergence == pytest.approx(-3.19628144, abs=1e-8)


def test_elevation_factor_in_a_combined_factor() -> None:
    """K. Morgan, RPLS Today (surveyors' forum), 3 Aug 2011: grid factor 0.999981 at 500 ft gives 0.999957.

    The forum takes one earth radius everywhere; ours is that of the latitude (40 here), hence 5e-7 as printed.
    """
    frame = Frame(longitude_deg=-97.0, latitude_deg=40.0, height_m=500 * FOOT_M)
    assert 0.999981 / frame.scale == pytest.approx(0.999957, abs=5e-7)
    assert 1 / frame.scale == pytest.approx(GRID_RADIUS_FT / (GRID_RADIUS_FT + 500), abs=1e-7)


def test_elevation_factor_at_a_mark() -> None:
    """J. Mahun, Open Access Surveying Library XIII, chapter L: mark Jerry, H 1177 ft, geoid -33.902 m, UTM scale
    1.00021177, combined 1.00016082 with a radius of 20 906 000 ft. Its latitude is not printed; 43 is assumed here.
    """
    height_m = 1177 * FOOT_M - 33.902
    frame = Frame(longitude_deg=-89.0, latitude_deg=43.0, height_m=height_m)
    assert 1.00021177 / frame.scale == pytest.approx(1.00016082, abs=1e-7)


def test_the_two_feet() -> None:
    """M. Dennis, NGS webinar "Putting the best foot forward" (2019); Point of Beginning, October 2007."""
    assert abs(US_SURVEY_FOOT_M - 0.304800609601) < 1e-12
    assert abs(US_SURVEY_FOOT_M / FOOT_M - 1 - 2.0e-6) < 1e-8
    for feet, shift_ft in ((2_000_000, 4), (6_000_000, 12)):
        assert feet * US_SURVEY_FOOT_M / FOOT_M - feet == pytest.approx(shift_ft, abs=0.001)
    assert abs(43_560 * US_SURVEY_FOOT_M**2 - 4046.872) < 0.001  # an acre
