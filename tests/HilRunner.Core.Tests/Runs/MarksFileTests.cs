using HilRunner.Core.Runs;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Runs;

public class MarksFileTests
{
    private static readonly HandMark[] s_marks =
    [
        new(0, HandMarkKind.Told, new(-20_000_000), 1_795_000_000_000_000_001), new(0, HandMarkKind.Marked, new(850_000_001), 1_795_000_000_870_000_002),
        new(1, HandMarkKind.Motion, new(9_000_000_000), 1_795_000_009_020_000_001),
    ];

    [Test]
    public void RowsThatWereAppended_AreReadAsWritten()
    {
        using var folder = TestPaths.NewFolder();
        foreach (var mark in s_marks) { MarksFile.Append(folder.File("marks.csv"), mark); }
        string appended = File.ReadAllText(folder.File("marks.csv"));
        Assert.That(MarksFile.Read(folder.File("marks.csv")), Is.EqualTo(s_marks));
        MarksFile.Write(folder.File("marks.csv"), s_marks);
        Assert.That(File.ReadAllText(folder.File("marks.csv")), Is.EqualTo(appended));
    }

    [Test]
    public void AHalfWrittenRow_IsPassedOver()
    {
        using var folder = TestPaths.NewFolder();
        MarksFile.Append(folder.File("marks.csv"), s_marks[0]);
        File.AppendAllText(folder.File("marks.csv"), "1,mar");
        Assert.That(MarksFile.Read(folder.File("marks.csv")), Is.EqualTo(s_marks[..1]));
    }

    [Test]
    public void AnUnknownKind_IsAFault()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("marks.csv"), "step,kind,t_s,host_unix_ns\n0,heard,1,2\n");
        Assert.That(() => MarksFile.Read(folder.File("marks.csv")), Throws.TypeOf<BadInputException>().With.Message.Contains("told, marked, motion"));
    }
}
