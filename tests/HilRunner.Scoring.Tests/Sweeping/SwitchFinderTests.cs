using CsCheck;
using HilRunner.Core.Runs;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Scoring.Tests.Sweeping;

public class SwitchFinderTests
{
    /// <summary>Every leg by rising level, a letter a class; "." : nothing was said. Levels are 10, 20, …</summary>
    private static IReadOnlyList<Switch> Find(params string[] legs) => SwitchFinder.Find(
        [.. legs.SelectMany((leg, i) => leg.Select((c, k) => new SettledClass(i / 2 + 1, i % 2 == 0, 10 * (k + 1), c == '.' ? null : $"{c}", true, new Dictionary<string, double>())))], 10, 0.95);

    private static string Shown(IEnumerable<Switch> found) => string.Join("; ", found.Select(s => $"{s.Below}{s.Above} {string.Join(' ', s.Legs.Select(l => l.Middle))}"));

    [TestCase("AB 25 25", "AABBB", "AABBB")]
    [TestCase("AB 35 15", "AAABB", "ABBBB")]
    [TestCase("AB 15 35; BC 35 45", "ABBCC", "AAABC")]
    [TestCase("AB 15 15; BA 35 45", "ABBAA", "ABBBA", TestName = "A class in the middle of the range has two boundaries")]
    [TestCase("AB 45 45", "AAAAB", "AAAAB", TestName = "The last level alone shows a class")]
    [TestCase("", "AAAAA", "AAAAA")]
    [TestCase("", ".....", ".....")]
    [TestCase("AB 25", "AABBB", "AAAAA", TestName = "A leg that does not reach it does not count as one that does")]
    [TestCase("AB 25", "AABBB", "BBBBB")]
    [TestCase("AB 35 35", "..ABB", "..ABB", TestName = "Levels without a word are no class")]
    public void Boundaries_are_found_in_each_leg(string expected, params string[] legs) => Assert.That(Shown(Find(legs)), Is.EqualTo(expected));

    [Test]
    public void Flicker_makes_no_boundary_of_its_own()
    {
        var found = Find("AAABABBB", "AABABBBB", "AAAABABB", "AAABABBB");
        Assert.That(found, Has.Count.EqualTo(1));
        Assert.That((found[0].Below, found[0].Above, found[0].IsReached), Is.EqualTo(("A", "B", true)));
        Assert.That(found[0].CurveUp!.Slope, Is.GreaterThan(0), "a share that rises, not a sharp step");
    }

    /// <summary>The slow twin tries every way to cut.</summary>
    [Test]
    public void Cuts_misfit_as_few_levels_as_any() => Gen.Select(Gen.Char["AB."].Array[1, 9], Gen.Int[0, 3].Select(i => i switch { 0 => new[] { "A", "B" }, 1 => ["B", "A"], 2 => ["A", "B", "A"], _ => ["A"] })).Sample((levels, sequence) =>
    {
        string?[] classes = [.. levels.Select(c => c == '.' ? null : $"{c}")];
        int misfits = LegCuts.Fit(classes, sequence, out int[] cuts);
        Assert.That(cuts, Is.Ordered.And.Length.EqualTo(sequence.Length - 1));
        Assert.That(misfits, Is.EqualTo(Misfits(cuts)));
        Assert.That(misfits, Is.EqualTo(AllCuts(sequence.Length - 1, classes.Length).Min(Misfits)));

        int Misfits(IReadOnlyList<int> at) => classes.Where((c, i) => c is not null && c != sequence[at.Count(cut => cut <= i)]).Count();
    }, iter: 2_000);

    private static IEnumerable<int[]> AllCuts(int count, int levels) => count == 0 ? [[]] :
        AllCuts(count - 1, levels).SelectMany(before => Enumerable.Range(before.LastOrDefault(), levels + 1 - before.LastOrDefault()).Select(cut => (int[])[.. before, cut]));

    [Test]
    public void What_counts_of_a_level_is_its_last_quarter()
    {
        // Levels of 4 s after a run-in of 4 s: [4, 8), [8, 12), [12, 16).
        Decision At(double s, string name) => new(new((long)(s * 1e9)), name);
        var levels = SettledClass.Of(1, [At(1, "A"), At(10.5, "B"), At(14, "A"), At(15.5, "B")], [(true, 10), (true, 20), (true, 30)], 4_000_000_000);
        Assert.Multiple(() =>
        {
            Assert.That(levels.Select(l => l.Class), Is.EqualTo(new[] { "A", "B", "A" }));
            Assert.That(levels.Select(l => l.Settled), Is.EqualTo(new[] { true, true, false }));
            Assert.That(levels[1].Shares, Is.EquivalentTo(new Dictionary<string, double> { ["A"] = 0.25, ["B"] = 0.75 }));
            Assert.That(levels[2].Shares["A"], Is.EqualTo(0.75).Within(1e-12));
        });
    }

    [Test]
    public void Nothing_is_said_before_the_first_decision()
    {
        var levels = SettledClass.Of(1, [new(new(9_500_000_000), "A")], [(true, 1), (true, 2), (true, 3)], 4_000_000_000);
        Assert.That(levels.Select(l => l.Class), Is.EqualTo(new[] { null, "A", "A" }));
    }
}
