using CsCheck;
using HilRunner.Scoring.Isolating;

namespace HilRunner.Scoring.Tests.Isolating;

/// <summary>Against the running example of Zeller and Hildebrandt 2002 (from memory; the trace follows from the algorithm), and a slow twin.</summary>
public class DeltaDebuggingTests
{
    [Test]
    public void TheRunningExampleTakesSeventeenTestsInThisOrder()
    {
        var trace = new List<string>();
        var left = DeltaDebugging.Minimise(8, set =>
        {
            bool shows = set.Contains(0) && set.Contains(6) && set.Contains(7);
            trace.Add(string.Concat(set.Select(i => i + 1)) + (shows ? "x" : ""));
            return shows;
        });
        Assert.That(left, Is.EqualTo(new[] { 0, 6, 7 }));
        Assert.That(trace, Is.EqualTo("1234 5678 12 34 56 78 345678 125678x 1278x 1 2 7 8 278 178x 18 17".Split(' ')));
    }

    [TestCase("7", 5)]
    [TestCase("2,6", 16)]
    [TestCase("1,2,3,4,5,6,7,8", 26)]
    public void OtherCausesTakeAsManyTestsAsTheAlgorithmSays(string needed, int tests)
    {
        int[] cause = [.. needed.Split(',').Select(n => int.Parse(n, System.Globalization.CultureInfo.InvariantCulture) - 1)];
        int asked = 0;
        var left = DeltaDebugging.Minimise(8, set => { asked++; return cause.All(set.Contains); });
        Assert.That((left, asked), Is.EqualTo(((IReadOnlyList<int>)cause, tests)).Using<(IReadOnlyList<int>, int)>((a, b) => a.Item1.SequenceEqual(b.Item1) && a.Item2 == b.Item2));
    }

    [Test]
    public void WhatIsLeftIsOneMinimalAndShowsIt() => Gen.Select(Gen.Int[1, 12], Gen.Int[1, 4095].List[1, 4]).Sample((parts, causes) =>
    {
        // Shows where one of some sets is all there, whichever.
        int whole = (1 << parts) - 1;
        bool Shows(IReadOnlyList<int> set)
        {
            int bits = set.Aggregate(0, (b, i) => b | 1 << i);
            return causes.Any(c => (c & whole & ~bits) == 0);
        }
        var left = DeltaDebugging.Minimise(parts, Shows);
        Assert.That(Shows(left));
        foreach (int one in left.Count > 1 ? left : []) { Assert.That(Shows([.. left.Where(i => i != one)]), Is.False); }
    });

    [Test]
    public void TheShortestStretchIsFoundWhereWhatIsNeededLiesInOnePiece() => Gen.Select(Gen.Int[1, 300], Gen.Int[0, 299], Gen.Int[0, 299], Gen.Int[0, 299]).Sample((length, a, b, c) =>
    {
        int from = Math.Min(a, b) % length, to = Math.Max(from + 1, Math.Max(a, b) % length), kept = from + c % (to - from);
        int asked = 0;
        var found = new Stretch(0, length).Shortest(new(kept, kept + 1), s => { asked++; return s.From <= from && s.To >= to; });
        Assert.That(found, Is.EqualTo(new Stretch(from, to)));
        Assert.That(asked, Is.LessThanOrEqualTo(4 * Math.Log2(length + 1) + 4));
    });
}
