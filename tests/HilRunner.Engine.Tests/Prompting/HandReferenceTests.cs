using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Engine.Prompting;

namespace HilRunner.Engine.Tests.Prompting;

public class HandReferenceTests
{
    private static readonly PromptSchedule s_schedule = PromptSchedule.Of(new()
    {
        Name = "s",
        Steps = [new PromptStep("rest", TimeSpan.FromSeconds(10), "still"), new PromptStep("walk", TimeSpan.FromSeconds(10), "carried"), new PromptStep("stop", TimeSpan.FromSeconds(1), "still")],
        Classes = new Dictionary<string, string> { ["still"] = "resting" },
    })!;

    [Test]
    public void AMarkIsTheOnset_GiveOrTakeAReaction()
    {
        var onsets = HandReference.Onsets(s_schedule, [Mark(1, HandMarkKind.Told, 10.02), Mark(1, HandMarkKind.Marked, 10.9), Mark(1, HandMarkKind.Motion, 10.7)]);
        var reference = HandReference.Intervals(s_schedule, onsets);
        Assert.Multiple(() =>
        {
            Assert.That(reference[1], Is.EqualTo(new ReferenceInterval(S(10.9), S(20.5), "carried", 1) { UncertaintyNs = 300_000_000 }));
            Assert.That(reference[0], Is.EqualTo(new ReferenceInterval(S(1), S(10.9), "resting", 0) { UncertaintyNs = 1_000_000_000 }), "not marked: between told and two seconds later");
            Assert.That(onsets[1].Motion, Is.EqualTo(S(10.7)), "shown, not used");
        });
    }

    [Test]
    public void NotMarked_AShortPromptBoundsItself()
    {
        var last = HandReference.Onsets(s_schedule, [])[2];
        Assert.That((last.Onset, last.UncertaintyNs), Is.EqualTo((S(20.5), 500_000_000L)));
    }

    [Test]
    public void AMarkOutsideItsPrompt_IsNone() =>
        Assert.That(HandReference.Onsets(s_schedule, [Mark(1, HandMarkKind.Marked, 25)])[1].Why, Does.StartWith("not marked"));

    [Test]
    public void OnlyPromptsMakeASchedule() =>
        Assert.That(PromptSchedule.Of(new() { Name = "s", Steps = [new PlayStep("a.csv")] }), Is.Null);

    private static HandMark Mark(int step, HandMarkKind kind, double s) => new(step, kind, S(s), 0);

    private static StimulusTime S(double s) => new((long)Math.Round(s * 1e9));
}
