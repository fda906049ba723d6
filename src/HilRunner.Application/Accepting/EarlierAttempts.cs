using HilRunner.Application.Histories;
using HilRunner.Application.Stored;
using HilRunner.Core;
using HilRunner.Core.Runs;
using HilRunner.History;
using HilRunner.History.Reading;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Application.Accepting;

/// <summary>
/// Earlier attempts at a plan of this name on this image. Whoever tries until it is accepted has not shown what the plan claims:
/// the confidence of a claim is that of a single attempt.
/// </summary>
internal static class EarlierAttempts
{
    private const int MostOfHistory = 10_000;

    /// <param name="root">Where attempts have their folders.</param>
    /// <param name="own">The folder of this one.</param>
    /// <returns>Oldest first; an attempt that the history knows too is one.</returns>
    public static IReadOnlyList<EarlierAttempt> Find(string plan, BuildIdentity build, string root, string own,
        HistoryPlace history)
    {
        var found = Folders(plan, build, root, own).Concat(OfHistory(plan, build, history, own)).ToList();
        return [.. found.GroupBy(a => (a.Started.ToUnixTimeMilliseconds(), Path.GetFileName(a.Where))).Select(g =>
            g.First()).OrderBy(a => a.Started)];
    }

    private static IEnumerable<EarlierAttempt> Folders(string plan, BuildIdentity build, string root, string own)
    {
        foreach (string folder in RunFolders.Batches(root).Where(f => PlanLock.IsIn(f) && !IsSame(f, own)))
        {
            BatchRecord record;
            try { record = BatchRecord.Read(folder); }
            catch (BadInputException) { continue; }
            if (record.Name != plan || !IsSameBuild(record.Build.Sha256, record.Build.Label, build)) { continue; }
            string outcome = record.Ended is null ? "broken off" : record.Verdict is { } verdict ? AcceptWords.Of(verdict)
                : "not concluded";
            yield return new(record.Started, outcome, Path.GetFullPath(folder));
        }
    }

    private static IReadOnlyList<EarlierAttempt> OfHistory(string plan, BuildIdentity build, HistoryPlace place, string own)
    {
        // A history that does not answer must not cost an acceptance; what is under --out is found all the same.
        try
        {
            using var book = HistoryBook.Existing(place);
            return book is null ? [] :
            [
                .. HistoryReader.Newest(book.Database, plan, MostOfHistory)
                    .Where(b => !IsSame(b.Folder, own) && IsSameBuild(b.Sha256.Length > 0 ? b.Sha256 : null, b.Label.Length > 0
                        ? b.Label : null, build))
                    .Select(b => new EarlierAttempt(
                        DateTimeOffset.FromUnixTimeMilliseconds(b.StartedMs), b.EndedMs is null ? "broken off"
                            : b.Verdict is { } word ? Outcome(word) : "not concluded", b.Folder)),
            ];
        }
        catch (HistoryException) { return []; }
    }

    private static string Outcome(string word) =>
        Enum.GetValues<Verdict>().Where(v => Verdicts.Word(v) == word).Select(AcceptWords.Of).FirstOrDefault() ?? word;

    private static bool IsSame(string folder, string other) => Path.GetFullPath(folder) == Path.GetFullPath(other);

    /// <summary>
    /// By the image's hash; by its label where one of the two has no hash; two builds of which nothing is known are taken for
    /// one.
    /// </summary>
    private static bool IsSameBuild(string? sha256, string? label, BuildIdentity build) => sha256 is not null
        && build.Sha256 is not null
        ? string.Equals(sha256, build.Sha256, StringComparison.OrdinalIgnoreCase) : label == build.Label;
}
