using HilRunner.Application.Motions;
using HilRunner.Application.Stored;
using HilRunner.Core.Runs;
using HilRunner.Core;
using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Application.Comparing;

/// <summary>One of the two builds of a comparison, from what its runs have stored.</summary>
/// <param name="Name">As the user gave it.</param>
/// <param name="Runs">Those that prove something.</param>
/// <param name="LeftOut">Those that do not: the rig was at fault, or they did not reach their end.</param>
/// <param name="Tolerances">Of its suite.</param>
internal sealed record ComparedBuild(string Name, IReadOnlyList<ComparedRun> Runs, int LeftOut, CompareTolerances Tolerances)
{
    /// <summary>How many of <see cref="Runs"/> do not show that everything arrived.</summary>
    public int DeliveryNotShown { get; init; }

    /// <summary>How many of <see cref="Runs"/> were scored by earlier definitions, and again from their captures.</summary>
    public int ScoredAgain { get; init; }

    /// <summary>Runs of earlier definitions that could not be scored again, each with the reason.</summary>
    public IReadOnlyList<string> Earlier { get; init; } = [];

    /// <summary>Batches of the same image beside the folder that was named.</summary>
    public int MorePlays { get; init; }

    private const int ShortestHash = 6;

    /// <param name="reference">The folder of a run or of a batch; or the label of a build, or the first digits of its image's SHA-256.</param>
    /// <param name="root">Where the batches of builds are looked for.</param>
    /// <exception cref="BadInputException">There is no such build, or a file of it is damaged.</exception>
    public static ComparedBuild Read(JobContext context, string reference, string root)
    {
        return Directory.Exists(reference)
            ? Read(context, reference, [reference]) with { MorePlays = PlaysOfSameImage(reference, root).Count }
            : Read(context, reference, Batches(reference, root));
    }

    /// <summary>
    /// Both builds of a comparison. Where two names stand for one image, each stands for the batches that were played under it:
    /// whoever asks so holds an image against itself.
    /// </summary>
    /// <exception cref="BadInputException">One of them is not there, or a file of it is damaged.</exception>
    public static (ComparedBuild Baseline, ComparedBuild Candidate) Read(
        JobContext context, string baseline, string candidate, string root)
    {
        if (Directory.Exists(baseline) || Directory.Exists(candidate)) { return (Read(context, baseline, root),
            Read(context, candidate, root)); }
        var (before, now) = (Batches(baseline, root), Batches(candidate, root));
        return before.ToHashSet(StringComparer.Ordinal).SetEquals(now)
            ? (Read(context, baseline, NamedSo(baseline, BatchesIn(root))),
                Read(context, candidate, NamedSo(candidate, BatchesIn(root))))
            : (Read(context, baseline, before), Read(context, candidate, now));
    }

    /// <param name="name">As the user knows it.</param>
    /// <param name="batches">Folders of runs or batches: all that they hold counts.</param>
    public static ComparedBuild Read(JobContext context, string name, IReadOnlyList<string> batches)
    {
        var runs = new List<ComparedRun>();
        var same = new Dictionary<string, IReadOnlyList<SameMotion>>(StringComparer.Ordinal);
        var earlier = new List<string>();
        int leftOut = 0, again = 0, notShown = 0;
        foreach (string folder in RunFolders.Under(batches))
        {
            string batch = Path.GetDirectoryName(Path.GetFullPath(folder))!;
            var run = ScoredRun.Read(context, folder);
            if (run.WhyLeftOut is { } why)
            {
                earlier.Add($"{Path.GetFileName(folder)}: {why}");
                continue;
            }
            if (!run.Counts)
            {
                leftOut++;
                continue;
            }
            if (run.IsScoredAgain) { again++; }
            if (run.Score!.Delivery?.Outcome == DeliveryOutcome.NotShown) { notShown++; }
            if (!same.TryGetValue(batch, out var pairs))
            {
                same[batch] = pairs = BatchRecord.IsIn(batch) ? BatchRecord.Read(batch).SameMotions : [];
            }
            var manifest = run.Manifest;
            runs.Add(new()
            {
                Scenario = manifest.ScenarioName,
                Motion = run.Motion,
                Rig = manifest.RigName,
                Motions = run.Motions(pairs),
                Repeat = manifest.Repeat,
                Outputs = run.Score.Outputs,
                Device = run.Score.Device,
                ReportKnown = run.Score.ReportTimesKnown,
                Folder = folder,
            });
        }
        var tolerances = batches.Where(BatchRecord.IsIn).SelectMany(b => BatchRecord.Read(b).Suites).Select(s => s.Tolerances).ToList();
        return new(name, runs, leftOut,
            new(tolerances.Select(t => t.ReactionS).DefaultIfEmpty().Max(), tolerances.Select(t => t.ReportLatencyS)
                .DefaultIfEmpty().Max()) { EarlierIsWorse = tolerances.Any(t => t.EarlierIsWorse) }) { DeliveryNotShown = notShown, ScoredAgain = again, Earlier = earlier };
    }

    /// <summary>The one batch that a new one is to be held against.</summary>
    /// <param name="reference">As in <see cref="Read(JobContext, string, string)"/>.</param>
    /// <param name="suite">Name of the new batch: of a build's batches the newest of that name is meant.</param>
    /// <exception cref="BadInputException">There is none.</exception>
    public static string FolderOf(string reference, string root, string suite)
    {
        if (Directory.Exists(reference))
        {
            _ = RunFolders.Under([reference]);
            return reference;
        }
        var batches = Batches(reference, root);
        return batches.FirstOrDefault(b => BatchRecord.Read(b).Name == suite) ?? throw new BadInputException([new(
            reference, 0, 0, $"a build without runs of {suite} in {root}", $"one that has played it; this one has {string.Join(", ", batches.Select(b => BatchRecord.Read(b).Name))}", "give a folder")]);
    }

    /// <summary>
    /// All batches that were played on the image that was last played under this name: a night chosen among them, for having
    /// passed or for being the newest, would not be typical of it.
    /// </summary>
    private static IReadOnlyList<string> Batches(string build, string root)
    {
        var all = BatchesIn(root);
        var named = NamedSo(build, all).ToHashSet(StringComparer.Ordinal);
        var found = all.Where(b => named.Contains(b.Folder)).ToList();
        if (found.Count == 0)
        {
            string[] known = [.. all.Select(b => b.Record.Build.Label ?? b.Record.Build.Sha256?[..12]).OfType<string>().Distinct().Order(StringComparer.Ordinal)];
            throw new BadInputException([new(build, 0, 0, $"neither a folder of runs nor a build with runs in {root}",
                known.Length == 0 ? "the folder of a run or a batch" : $"a folder, or one of the builds {string.Join(", ", known.Take(10))}", "say --runs where the runs are elsewhere")]);
        }
        var newest = found.MaxBy(b => b.Record.Started).Record.Build;
        return [.. all.Where(b => IsSameImage(b.Record.Build, newest)).OrderByDescending(b => b.Record.Started).Select(b =>
            b.Folder)];
    }

    private static IReadOnlyList<string> NamedSo(string build, List<(string Folder, BatchRecord Record)> batches) =>
    [
        .. batches.Where(b => b.Record.Build.Label == build
            || (build.Length >= ShortestHash && b.Record.Build.Sha256?.StartsWith(build,
                StringComparison.OrdinalIgnoreCase) == true)).Select(b => b.Folder),
    ];

    /// <summary>
    /// The other batches in a folder that were played on the image of this one; none where nobody knows its image or label.
    /// </summary>
    public static IReadOnlyList<string> PlaysOfSameImage(string folder, string root)
    {
        if (!BatchRecord.IsIn(folder)) { return []; }
        var build = BatchRecord.Read(folder).Build;
        string own = Path.GetFullPath(folder);
        return [.. BatchesIn(root).Where(b => IsSameImage(b.Record.Build, build)
            && Path.GetFullPath(b.Folder) != own).Select(b => b.Folder)];
    }

    private static bool IsSameImage(BuildIdentity build, BuildIdentity other) => other.Sha256 is { } hash
        ? string.Equals(build.Sha256, hash, StringComparison.OrdinalIgnoreCase)
        : other.Label is { } label && build.Sha256 is null && build.Label == label;

    private static List<(string Folder, BatchRecord Record)> BatchesIn(string root) => !Directory.Exists(root) ? []
        : [.. RunFolders.Batches(root).Select(d => (Folder: d, Record: BatchRecord.Read(d))).Where(b =>
            b.Record.Parts.Count == 0)];
}
