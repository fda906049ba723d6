using System.Diagnostics;
using HilRunner.Application.Comparing;
using HilRunner.Application.Histories;
using HilRunner.Application.Runs;
using HilRunner.Application.Stored;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.History;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests.Trust;

/// <summary>
/// Folders of runs that somebody else packed, with links in them that lead out: nothing outside is written or read through them.
/// </summary>
[Platform("Linux")]
public class LinksInAStoredRunTests
{
    private const string Precious = "precious";

    public static IEnumerable<TestCaseData> Cases()
    {
        string[] ofARun = [RunFiles.Manifest, RunFiles.Capture, RunFiles.Playout,
            RunFiles.Expected, RunFiles.Stimulus, "stimulus.yaml", "link.1.pcapng", RunFiles.Decisions, RunFiles.Score];
        foreach (string file in ofARun) { yield return new(nameof(Score), $"RUN/{file}"); }
        yield return new(nameof(Report), $"RUN/{RunFiles.Report}");
        foreach (string file in (string[])["batch.json", RunFiles.Report, "junit.xml", "summary.txt"])
        {
            yield return new(nameof(ReportOfBatch), $"BATCH/{file}");
        }
        yield return new(nameof(Merge), $"MERGED/{RunFiles.Report}");
        yield return new(nameof(Compare), "BATCH/compare.html");
        yield return new(nameof(Compare), $"RUN/{RunFiles.Score}");
        yield return new(nameof(History), "BATCH/history.db");
    }

    [TestCaseSource(nameof(Cases))]
    public void ALinkThatLeadsOutIsRefused(string command, string link)
    {
        using var folder = TestPaths.NewFolder();
        string run = StoredRuns.CopyRun(StoredRuns.Shared.Plain, folder), batch = Path.GetDirectoryName(run)!,
            merged = Directory.CreateDirectory(folder.File("merged")).FullName;
        string outside = folder.File("outside"), path = link.Replace("RUN", run)
            .Replace("BATCH", batch).Replace("MERGED", merged);
        File.WriteAllText(outside, Precious);
        File.Delete(path);
        File.CreateSymbolicLink(path, outside);
        NamedFolders.Add(batch);
        Assert.That(() => Do(command, run, batch, merged),
            Throws.TypeOf<BadInputException>().With.Message.Contains(
                "a link; expected").And.Message.Contains(Path.GetFileName(path)));
        Assert.That(File.ReadAllText(outside), Is.EqualTo(Precious));
        Assert.That(File.Exists(outside) && new FileInfo(path).LinkTarget == outside, "the link is as it was");
    }

    [Test]
    public void NamesThatCouldBeGuessedAreNotUsed()
    {
        using var folder = TestPaths.NewFolder();
        string run = StoredRuns.CopyRun(StoredRuns.Shared.Plain, folder),
            batch = Path.GetDirectoryName(run)!, outside = folder.File("outside");
        File.WriteAllText(outside, Precious);
        string[] written = [RunFiles.Score, RunFiles.Decisions, RunFiles.Report, "batch.json", "junit.xml", "summary.txt"];
        foreach (string place in (string[])[run, batch])
        {
            foreach (string name in written) { File.CreateSymbolicLink(Path.Combine(place, name + ".part"), outside); }
        }
        Do(nameof(ReportOfBatch), run, batch, "");
        Assert.That(File.ReadAllText(outside), Is.EqualTo(Precious));
    }

    [Test]
    public void ARunThatIsALinkIsNotEntered()
    {
        using var folder = TestPaths.NewFolder();
        string run = StoredRuns.CopyRun(StoredRuns.Shared.Plain, folder),
            batch = Path.GetDirectoryName(run)!, elsewhere = folder.File("elsewhere");
        Directory.Move(run, elsewhere);
        Directory.CreateSymbolicLink(run, elsewhere);
        NamedFolders.Add(batch);
        byte[] before = File.ReadAllBytes(Path.Combine(elsewhere, RunFiles.Score));
        DateTime written = File.GetLastWriteTimeUtc(Path.Combine(elsewhere, RunFiles.Score));
        Assert.That(() => RunFolders.Under([batch]),
            Throws.TypeOf<BadInputException>().With.Message.Contains("a link; expected the folder of a run"));
        Assert.That(() => RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None),
            Throws.TypeOf<BadInputException>().With.Message.Contains("a link"));
        Assert.That(File.ReadAllBytes(Path.Combine(elsewhere, RunFiles.Score)), Is.EqualTo(before));
        Assert.That(File.GetLastWriteTimeUtc(Path.Combine(elsewhere, RunFiles.Score)), Is.EqualTo(written));
        // A link to a batch, such as to the newest, is passed over where all are gone through, and taken where it is named.
        Directory.CreateSymbolicLink(folder.File("latest"), batch);
        Assert.That(RunFolders.Batches(folder.Path), Is.EqualTo(new[] { batch }));
    }

    [TestCase(RunFiles.Capture)]
    [TestCase(RunFiles.Manifest)]
    [TestCase(RunFiles.Playout)]
    [TestCase(RunFiles.Score)]
    public void AFifoInPlaceOfAFileIsRefusedAtOnce(string file)
    {
        using var folder = TestPaths.NewFolder();
        string run = StoredRuns.CopyRun(StoredRuns.Shared.Plain, folder), path = Path.Combine(run, file);
        File.Delete(path);
        Process.Start("mkfifo", path).WaitForExit();
        Assert.That(() => RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None),
            Throws.TypeOf<BadInputException>().With.Message.Contains("a FIFO; expected a plain file"));
    }

    private static void Do(string command, string run, string batch, string merged)
    {
        switch (command)
        {
            case nameof(Score): Score(run); break;
            case nameof(Report): Report(run); break;
            case nameof(ReportOfBatch): ReportOfBatch(run, batch); break;
            case nameof(Merge): Merge(batch, merged); break;
            case nameof(Compare): Compare(batch); break;
            default: History(batch); break;
        }
    }

    private static void Score(string run) => RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None);

    private static void Report(string run) =>
        RunConclusion.WriteReport(RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None));

    private static void ReportOfBatch(string run, string batch)
    {
        var stored = RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None);
        RunConclusion.WriteReport(stored);
        BatchConclusion.Conclude(Composition.Context, BatchRecord.Read(batch), StoredBatch.Runs([stored]), batch,
            AdapterLeave.None);
    }

    private static void Merge(string batch, string merged) =>
        MergedBatch.Write(Composition.Context, [batch], merged, AdapterLeave.None);

    private static void Compare(string batch)
    {
        var build = ComparedBuild.Read(Composition.Context, batch, batch);
        string page = Path.Combine(batch, "compare.html");
        BuildComparer.WritePage(BuildComparer.Compare(Composition.Context, build, build, page, AdapterLeave.None), page);
    }

    private static void History(string batch) =>
        HistoryBook.Open(HistoryPlace.Parse(Path.Combine(batch, HistoryPlace.FileName))).Dispose();
}
