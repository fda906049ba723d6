using static HilRunner.Scoring.Tests.Inputs;

namespace HilRunner.Scoring.Tests.Segments;

/// <summary>
/// Ward, Lukowicz and Gellersen 2011: an example made for this project whose counts follow from the paper's rules, worked by
/// hand and checked with an independent script. Its gaps are labelled "other".
/// </summary>
[TestFixture]
internal sealed class PublishedSegmentTests
{
    private static readonly (int Start, int End)[] Expected = [(10, 20), (30, 40), (50, 70), (80, 85), (90, 100), (110, 130), (135, 140)];
    private static readonly (int Start, int End)[] Detected = [(12, 22), (52, 56), (60, 66), (78, 98), (105, 107), (112, 118), (121, 138)];

    [Test]
    public void TheExamplesCountsAndSeconds()
    {
        var reference = new List<Core.Runs.ReferenceInterval>();
        int reached = 0;
        foreach (var (start, end) in Expected)
        {
            reference.Add(Ref(reached, start, "other"));
            reference.Add(Ref(start, end, "carried"));
            reached = end;
        }
        reference.Add(Ref(reached, 150, "other"));
        var decisions = Detected.SelectMany(d => new[] { Says(d.Start, "carried"), Says(d.End, "other") }).Prepend(Says(0, "other")).ToList();

        var score = One(Input(150, reference, decisions));
        Assert.That(score.Segments["carried"].Reference, Is.EqualTo(new ReferenceSegments(1, 1, 1, 3, 1)));
        Assert.That(score.Segments["carried"].Observed, Is.EqualTo(new ObservedSegments(1, 1, 3, 1, 1)));
        Assert.That(score.Segments["carried"].TimeNs, Is.EqualTo(new SegmentTimes(
            TruePositive: Ns(49), Insertion: Ns(2), Merge: Ns(10), OverfillStart: Ns(2), OverfillEnd: Ns(2),
            Deletion: Ns(10), Fragmentation: Ns(7), UnderfillStart: Ns(6), UnderfillEnd: Ns(8))));
        Assert.That(score.Strict.ConfusionNs["other"]["other"], Is.EqualTo(Ns(54)));
    }
}
