using CsCheck;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Runs;

/// <summary>expected.csv, decisions.csv and playout.csv: what is written is read again, and faults are found where they are.</summary>
[TestFixture]
internal sealed class RunCsvTests
{
    private static readonly Gen<string> GenClass = Gen.OneOf(
        Gen.OneOf("resting", "carried", "dropped", "with, comma", "with \"quotes\"", " led by a blank", "two\nlines", "größer", "(none)"),
        Gen.String[Gen.Char[' ', '~'], 1, 12]);

    private static readonly Gen<long> GenNs = Gen.OneOf(Gen.Long[-5_000_000_000, 90_000_000_000_000], Gen.Long);

    [Test]
    public void ExpectedIsReadAsWritten() => Gen.Select(GenClass, Gen.Long[0, 10_000_000_000], Gen.Long[1, 10_000_000_000], Gen.Int[0, 9].Nullable())
        .Array[0, 20].Sample(parts =>
        {
            long at = 0;
            var intervals = new List<ReferenceInterval>();
            foreach (var (name, gap, length, trial) in parts)
            {
                intervals.Add(new(new(at + gap), new(at + gap + length), name, trial) { UncertaintyNs = name.Length % 2 == 0 ? 0 : length });
                at += gap + length;
            }
            using var folder = TestPaths.NewFolder();
            ExpectedFile.Write(folder.File("expected.csv"), intervals);
            Assert.That(ExpectedFile.Read(folder.File("expected.csv")), Is.EqualTo(intervals));
        }, iter: 200);

    [Test]
    public void DecisionsAreReadAsWritten() => Gen.Select(GenNs, GenClass, Gen.OneOf("", "activity", "mode, b"),
            Gen.Enum<DecisionTiming>(), Gen.Long.Nullable(), GenNs.Nullable(), GenNs.Nullable(), Gen.Double.Where(double.IsFinite).Nullable())
        .Select(p => new Decision(new(p.Item1), p.Item2, p.Item3)
        {
            Timing = p.Item4,
            Sample = p.Item5,
            DeviceTime = p.Item6 is { } device ? new DeviceTime(device) : null,
            ArrivalNs = p.Item7,
            UncertaintyNs = p.Item7 is > 0 ? p.Item7 / 2 : null,
            Confidence = p.Item8,
        })
        .List[0, 20].Sample(decisions =>
        {
            using var folder = TestPaths.NewFolder();
            DecisionsFile.Write(folder.File("decisions.csv"), decisions);
            Assert.That(DecisionsFile.Read(folder.File("decisions.csv")), Is.EqualTo(decisions));
        }, iter: 200);

    [Test]
    public void PlayoutIsReadAsWrittenAndAsCutOffAnywhere() =>
        Gen.Select(Gen.Long[-100, 100], Gen.Select(Gen.Long[1, 50], GenNs.Nullable(), GenNs).List[0, 20], Gen.Double.Unit).Sample((first, steps, cut) =>
        {
            long n = first;
            var rows = steps.Select(s => new PlayoutRow(n += s.Item1, s.Item2, s.Item3)).ToList();
            using var folder = TestPaths.NewFolder();
            string path = folder.File("playout.csv");
            PlayoutFile.Write(path, rows);
            Assert.That(PlayoutFile.Read(path), Is.EqualTo(rows));

            byte[] bytes = File.ReadAllBytes(path);
            byte[] prefix = bytes[..(int)(cut * bytes.Length)];
            File.WriteAllBytes(path, prefix);
            int whole = Math.Max(0, prefix.Count(b => b == '\n') - 1);
            Assert.That(PlayoutFile.Read(path, cutOff: true), Is.EqualTo(rows.Take(whole)));
        }, iter: 300);

    [Test]
    public void ALogFromElsewhereNeedsOnlyTimeAndClass()
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("decisions.csv");
        File.WriteAllText(path, "\uFEFFclass,temperature,t_s\r\nresting , 21.5, 2\r\n\r\ncarried,21.6,13.0000000004");
        Assert.That(DecisionsFile.Read(path), Is.EqualTo(new[]
        {
            new Decision(new(2_000_000_000), "resting"), new Decision(new(13_000_000_000), "carried"),
        }));
    }

    [Test]
    public void AllFaultsAreNamedWithLineAndColumn()
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("decisions.csv");
        File.WriteAllText(path, "t_s,class,timing,sample,uncertainty_s\n1,resting,sample,4,\n,carried,arrival,,\n3 s,resting,guess,4.5,-1\n4,,,,\n5,resting\n");
        var faults = Assert.Throws<BadInputException>(() => DecisionsFile.Read(path)).Faults;
        Assert.That(faults.Select(f => (f.Line, f.Column)), Is.EqualTo(new[] { (3, 1), (4, 1), (4, 13), (4, 19), (4, 23), (5, 3), (6, 0) }));
        Assert.That(faults[1].ToString(), Is.EqualTo($"{path}:4:1: t_s is \"3 s\"; expected decimal seconds such as 12.5"));
    }

    [Test]
    public void MoreThanTwentyFaultsAreCounted()
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("playout.csv");
        File.WriteAllText(path, "n,due_s,actual_s\n" + string.Concat(Enumerable.Range(0, 50).Select(i => $"{i},,x\n")));
        var faults = Assert.Throws<BadInputException>(() => PlayoutFile.Read(path)).Faults;
        Assert.That(faults, Has.Count.EqualTo(21));
        Assert.That(faults[^1].Found, Is.EqualTo("30 more faults beyond the 20 listed"));
    }

    [Test]
    public void OverlapsNameBothLines()
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("expected.csv");
        File.WriteAllText(path, "start_s,end_s,class\n10,20,carried\n0,12,resting\n20,30,resting\n15,16,dropped\n-1,0,resting\n5,5,resting\n");
        var faults = Assert.Throws<BadInputException>(() => ExpectedFile.Read(path)).Faults.Select(f => f.ToString()).ToList();
        Assert.That(faults, Has.Count.EqualTo(4));
        Assert.That(faults[2], Does.StartWith($"{path}:6:1: start_s is \"-1\"; expected 0 or more"));
        Assert.That(faults[3], Does.StartWith($"{path}:7:3: end_s is \"5\"; expected more than start_s"));
        Assert.That(faults[0], Does.StartWith($"{path}:2: carried from 10 s to 20 s overlaps resting from 0 s to 12 s on line 3"));
        Assert.That(faults[1], Does.StartWith($"{path}:5: dropped from 15 s to 16 s overlaps carried from 10 s to 20 s on line 2"));
    }

    [TestCase("a,b\n1,2\n3,4\n", 1)]
    [TestCase("\n\na,b\n1,2\n", 3)]
    [TestCase("t_s;class\n1;a\n", 1)]
    public void AHeaderWithoutTheColumnsIsOneFaultOnItsOwnLine(string text, int line)
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("decisions.csv");
        File.WriteAllText(path, text);
        var fault = Assert.Throws<BadInputException>(() => DecisionsFile.Read(path)).Faults.Single();
        Assert.That(fault.Line, Is.EqualTo(line));
        Assert.That(fault.Found, Does.StartWith("no column t_s, class in the header"));
    }

    [TestCase("", "the file is empty")]
    [TestCase("t_s,output\n1,a\n", "no column class")]
    [TestCase("t_s,class,class\n1,a,b\n", "the column class twice")]
    [TestCase("t_s,class\n1,\"never closed\n2,resting\n", "a quotation mark")]
    public void AFileThatIsNotOneOfOursIsAFault(string text, string found)
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("decisions.csv");
        File.WriteAllText(path, text);
        var faults = Assert.Throws<BadInputException>(() => DecisionsFile.Read(path)).Faults;
        Assert.That(faults.Select(f => f.Found), Has.Some.Contains(found));
        Assert.That(() => DecisionsFile.Read(folder.File("absent.csv")), Throws.TypeOf<BadInputException>().With.Message.Contains("no such file"));
    }

    [Test]
    public void ACutOffLineIsOnlyToleratedWhenAsked()
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("playout.csv");
        File.WriteAllText(path, "n,due_s,actual_s\n0,0,0.0001\n1,0.01,0.");
        Assert.That(PlayoutFile.Read(path, cutOff: true), Is.EqualTo(new[] { new PlayoutRow(0, 0, 100_000) }));
        // "0." is a number: without being asked to, nobody can know that it is half of one.
        Assert.That(PlayoutFile.Read(path), Has.Count.EqualTo(2));
        File.WriteAllText(path, "n,due_s,actual_s\n0,0,0.0001\n1,0.0");
        Assert.That(() => PlayoutFile.Read(path), Throws.TypeOf<BadInputException>());
        File.WriteAllText(path, "n,du");
        Assert.That(PlayoutFile.Read(path, cutOff: true), Is.Empty);
    }
}
