using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using static HilRunner.Scoring.Tests.Inputs;

namespace HilRunner.Scoring.Tests;

[TestFixture]
internal sealed class VerdictTests
{
    /// <summary>ETSI ES 201 873-1, clause 24.1, table "Overwriting rules for the verdict": current, new, result.</summary>
    [TestCase(Verdict.None, "pass inconc fail none")]
    [TestCase(Verdict.Pass, "pass inconc fail pass")]
    [TestCase(Verdict.Inconc, "inconc inconc fail inconc")]
    [TestCase(Verdict.Fail, "fail fail fail fail")]
    public void VerdictsOverwriteByTheStandardsTable(Verdict current, string row)
    {
        Verdict[] next = [Verdict.Pass, Verdict.Inconc, Verdict.Fail, Verdict.None];
        Assert.That(next.Select(n => Verdicts.Word(Verdicts.Worst([current, n]))), Is.EqualTo(row.Split(' ')));
        Assert.That(Verdicts.Worst([current, Verdict.Error]), Is.EqualTo(Verdict.Error), "the tool's own overrides all");
        Assert.That(Verdicts.Worst([Verdict.Error, current]), Is.EqualTo(Verdict.Error));
    }

    [Test]
    public void NothingIsNone() => Assert.That(Verdicts.Worst([]), Is.EqualTo(Verdict.None));

    private static readonly Limit Held = new(Measure.Accuracy) { AtLeast = 0.5 };
    private static readonly Limit Broken = new(Measure.Recognised) { Class = "conveyed", AtLeast = 0.95 };
    private static readonly Limit Open = new(Measure.Recall) { Class = "dropped", AtLeast = 0.5 };
    private static readonly Limit Pooled = new(Measure.Recognised) { Class = "conveyed", AtLeast = 0.95, Confidence = 0.9 };

    [Test]
    public void EveryLimitHeldIsAPass()
    {
        var score = Judge([Held]);
        Assert.That((score.Verdict, score.Reasons[0]), Is.EqualTo((Verdict.Pass, "all 3 limits held")));
    }

    [Test]
    public void ABrokenLimitOnAHealthyRigIsAFail()
    {
        var score = Judge([Open, Held, Broken]);
        Assert.That(score.Verdict, Is.EqualTo(Verdict.Fail));
        Assert.That(score.Reasons, Is.EqualTo(new[]
        {
            "conveyed recognised in 0 of 1 (the timing of 1 trial is not proven), needs 0.95", "recall dropped ≥ 0.5 is open: no time of dropped is scored",
        }));
    }

    [Test]
    public void AnOpenLimitIsInconclusive()
    {
        var score = Judge([Held, Open]);
        Assert.That((score.Verdict, score.Reasons.Count), Is.EqualTo((Verdict.Inconc, 1)));
    }

    [Test]
    public void IllHealthCapsTheVerdictAndSaysWhichLimitAndWhichHealth()
    {
        var ill = new RigHealth { Faults = ["3 samples were lost, at most 0 may be"] };
        foreach (var limits in new Limit[][] { [Held], [Broken], [Open], [] })
        {
            Assert.That(Judge(limits, ill).Verdict, Is.EqualTo(Verdict.Inconc));
        }
        Assert.That(Judge([Broken], ill).Reasons, Is.EqualTo(new[]
        {
            "3 samples were lost, at most 0 may be",
            "not held against the device, as the rig was at fault: conveyed recognised in 0 of 1 (the timing of 1 trial is not proven), needs 0.95",
        }));
        Assert.That(Judge([Held], new() { Incomplete = true }).Verdict, Is.EqualTo(Verdict.Inconc));
    }

    [Test]
    public void AResetOrASilenceIsTheDevicesDoing()
    {
        Assert.That(Judge([Held], device: new(1, 0, null)).Verdict, Is.EqualTo(Verdict.Fail));
        Assert.That(Judge([Held], device: new(0, 2, null)).Reasons, Is.EqualTo(new[] { "device silences 2, at most 0" }));
        Assert.That(Judge([], device: new(1, 0, null)).Verdict, Is.EqualTo(Verdict.Fail), "limited to 0 unless the scenario says otherwise");
        var allowed = new Limit(Measure.DeviceResets) { AtMost = 1 };
        var score = Judge([allowed], device: new(1, 0, null));
        Assert.That((score.Verdict, score.Limits.Count), Is.EqualTo((Verdict.Pass, 2)));
    }

    [Test]
    public void LimitsWithConfidenceAreNotJudgedInASingleRun()
    {
        var score = Judge([Pooled]);
        Assert.That(score.Verdict, Is.EqualTo(Verdict.None));
        Assert.That((score.Limits[0].Outcome, score.Limits[0].Why, score.Limits[0].Figure),
            Is.EqualTo((Outcome.Open, "judged over the suite's pooled trials", (double?)0)));
        score = Judge([Pooled, Held]);
        Assert.That((score.Verdict, score.Reasons[0]), Is.EqualTo((Verdict.Pass, "all 3 limits held; 1 more to be judged over the suite's pooled trials")));
    }

    [Test]
    public void RoundingNeverHidesWhyALimitBroke()
    {
        var score = Judge([new(Measure.Accuracy) { AtLeast = 0.71667 }]);
        Assert.That(score.Reasons[0], Is.EqualTo("accuracy 0.716667, needs 0.71667"));
        Assert.That(Judge([new(Measure.Accuracy) { AtLeast = 0.8 }]).Reasons[0], Is.EqualTo("accuracy 0.7167, needs 0.8"));
    }

    private static Score Judge(Limit[] limits, RigHealth? health = null, DeviceHealth? device = null) => Scorer.Score(WorkedExample with
    {
        Rules = new() { WithinNs = Ns(4), Limits = limits },
        Health = health ?? new(),
        Device = device ?? new(0, 0, null),
    });
}
