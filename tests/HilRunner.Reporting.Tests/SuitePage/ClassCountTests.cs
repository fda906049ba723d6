using HilRunner.Reporting.SuitePage;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Tests.SuitePage;

internal sealed class ClassCountTests
{
    [Test]
    public void Repeats_show_repeatability_and_never_add_independent_trials()
    {
        var counts = ClassCount.Of([Run("a", 1, "m1", true), Run("a", 2, "m1", false), Run("a", 3, "m1", true), Run("b", 1, "m2", true), Run("b", 2, "m2", true)]);
        Assert.That(counts, Is.EqualTo(new[] { new ClassCount("", "carried", UnitsRecognised: 1, Units: 2, PlaysRecognised: 4, Plays: 5, Repeated: 2, Steady: 1) }));
    }

    [Test]
    public void Another_scenario_on_the_same_recordings_is_not_independent_either()
    {
        var counts = ClassCount.Of([Run("a", 1, "m1", false), Run("b", 1, "m1", true)]);
        Assert.That(counts, Is.EqualTo(new[] { new ClassCount("", "carried", UnitsRecognised: 0, Units: 1, PlaysRecognised: 1, Plays: 2, Repeated: 0, Steady: 0) }));
    }

    [Test]
    public void A_run_that_proves_nothing_is_left_out()
    {
        var counts = ClassCount.Of(
        [
            Run("a", 1, "m1", false) with { PlayedAgain = true }, Run("a", 1, "m1", false) with { RigFault = true, Verdict = Verdict.Inconc },
            Run("a", 1, "m1", false) with { Verdict = Verdict.Error }, Run("a", 1, "m1", false) with { Incomplete = true }, Run("a", 1, "m1", true),
        ]);
        Assert.That(counts, Is.EqualTo(new[] { new ClassCount("", "carried", UnitsRecognised: 1, Units: 1, PlaysRecognised: 1, Plays: 1, Repeated: 0, Steady: 0) }));
    }

    [Test]
    public void Stretches_of_one_source_are_one_trial()
    {
        var counts = ClassCount.Of([Run("a", 1, "m1", true, "parcel 7"), Run("b", 1, "m2", true, "parcel 7"), Run("c", 1, "m3", true, "parcel 8"), Run("d", 1, "m4", true)]);
        Assert.That(counts, Is.EqualTo(new[] { new ClassCount("", "carried", UnitsRecognised: 3, Units: 3, PlaysRecognised: 4, Plays: 4, Repeated: 0, Steady: 0) }));
    }

    [Test]
    public void Trials_that_flip_are_found_and_steady_ones_are_not()
    {
        var flipped = FlippedTrial.Of([Run("a", 1, "m1", true), Run("a", 2, "m1", false), Run("a", 3, "m1", true), Run("b", 1, "m2", false), Run("b", 2, "m2", false)]);
        Assert.That(flipped.Select(f => (f.Scenario, f.Recognised, f.Plays)), Is.EqualTo(new[] { ("a", 2, 3) }));
    }

    private static SuiteRun Run(string scenario, int repeat, string motion, bool recognised, string? source = null) => new()
    {
        Scenario = scenario, Repeat = repeat, Verdict = Verdict.Pass,
        Played = [new("", new(motion, 0, 10, source), new() { Class = "carried", StartNs = 0, EndNs = 10, Already = false, Missed = !recognised, Recognised = recognised, Counted = true }, null)],
    };
}
