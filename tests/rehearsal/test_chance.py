"""Draws are functions of seed and key; their spread is that of the named distributions."""

from statistics import fmean, variance

from scipy.stats import kstest, norm, poisson

from scheduler.rehearsal import chance


def test_a_draw_depends_on_seed_and_key_alone() -> None:
    first = [chance.uniform(1, "gate", key) for key in range(50)]
    again = [chance.uniform(1, "gate", key) for key in reversed(range(50))][::-1]

    assert first == again
    assert first != [chance.uniform(2, "gate", key) for key in range(50)]
    assert chance.uniform(1, "ab", "c") != chance.uniform(1, "a", "bc")


def test_uniforms_and_normals_are_spread_as_they_should_be() -> None:
    uniforms = [chance.uniform(3, "spread", key) for key in range(4000)]
    normals = [chance.normal(3, "normal", key) for key in range(4000)]

    # Kolmogorov-Smirnov against scipy's distributions: a fair draw fails once in a thousand seeds.
    assert kstest(uniforms, "uniform").pvalue > 0.001
    assert kstest(normals, norm.cdf).pvalue > 0.001


def test_poisson_counts_are_the_quantiles_of_the_drawn_uniform() -> None:
    for mean in (0.3, 2.5, 9.0):
        for key in range(300):
            drawn = chance.uniform(5, "grubs", mean, key)
            assert chance.poisson(mean, 5, "grubs", mean, key) == int(poisson.ppf(drawn, mean))


def test_poisson_counts_have_equal_mean_and_variance() -> None:
    counts = [chance.poisson(4.0, 6, key) for key in range(4000)]

    # The Poisson law: both are 4; four standard errors of 4,000 draws.
    assert abs(fmean(counts) - 4.0) < 0.13
    assert abs(variance(counts) - 4.0) < 0.4


def test_whole_numbers_reach_both_ends() -> None:
    drawn = {chance.whole(2, 4, 7, key) for key in range(200)}

    assert drawn == {2, 3, 4}
