using HilRunner.Reporting.SuitePage;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Tests.SuitePage;

internal sealed class ClassCountTests
{
    [Test]
    public void Repeats_show_repeatability_and_never_add_independent_trials()
    {
        var counts = ClassCount.Of([Run("a", 1, "m1", true), Run("a", 2, "m1", false), Run("a", 3, "m1", true), Run("b", 1, "m2", true), Run("b", 2, "m2", true)]);
        Assert.That(counts, Is.EqualTo(new[] { new ClassCount("", "carried", Recognised: 2, Counted: 2, Motions: 2, Repeated: 2, Steady: 1) }));
    }

    [Test]
    public void Another_scenario_on_the_same_recordings_is_not_independent_either()
    {
        var counts = ClassCount.Of([Run("a", 1, "m1", false), Run("b", 1, "m1", true)]);
        Assert.That(counts, Is.EqualTo(new[] { new ClassCount("", "carried", Recognised: 0, Counted: 1, Motions: 1, Repeated: 0, Steady: 0) }));
    }

    [Test]
    public void A_run_that_proves_nothing_leaves_its_place_to_the_next()
    {
        var counts = ClassCount.Of(
        [
            Run("a", 1, "m1", false) with { PlayedAgain = true }, Run("a", 1, "m1", false) with { RigFault = true, Verdict = Verdict.Inconc },
            Run("a", 1, "m1", false) with { Verdict = Verdict.Error }, Run("a", 1, "m1", true),
        ]);
        Assert.That(counts, Is.EqualTo(new[] { new ClassCount("", "carried", Recognised: 1, Counted: 1, Motions: 1, Repeated: 0, Steady: 0) }));
    }

    private static SuiteRun Run(string scenario, int repeat, string motion, bool recognised) => new()
    {
        Scenario = scenario, Repeat = repeat, Verdict = Verdict.Pass, Motion = motion, Trials = [new("", "carried", 0, Counted: true, recognised)],
    };
}
