using HilRunner.Application.Stored;
using HilRunner.Core.Files;
using HilRunner.Core;
using HilRunner.Core.Runs;
using HilRunner.History;
using HilRunner.History.Database;
using HilRunner.History.Reading;
using HilRunner.History.Recording;
using HilRunner.Reporting;

namespace HilRunner.Application.Histories;

/// <summary>The history of the runs under one folder: an index that can be made again from them at any time.</summary>
internal sealed class HistoryBook : IDisposable
{
    /// <summary>Where the history is kept unless an option says otherwise.</summary>
    public const string Variable = "HIL_HISTORY";

    private const int GoodLookedAt = 50;

    private HistoryBook(HistoryDatabase database) => Database = database;

    public HistoryDatabase Database { get; }

    /// <param name="option">What --history says; null: not given.</param>
    /// <param name="root">The folder of the runs.</param>
    /// <exception cref="UsageException">Looks like an address of a database and is none.</exception>
    public static HistoryPlace PlaceOf(string? option, string root)
    {
        string? said = option ?? Environment.GetEnvironmentVariable(Variable);
        try { return HistoryPlace.Parse(said is { Length: > 0 } ? said : Path.Combine(root, HistoryPlace.FileName)); }
        catch (FormatException fault) { throw new UsageException($"{(option is null ? Variable : "--history")}: {fault.Message}"); }
    }

    /// <exception cref="HistoryException">It cannot be opened.</exception>
    /// <exception cref="BadInputException">A file of it is a link, or no plain file.</exception>
    public static HistoryBook Open(HistoryPlace place)
    {
        // The database opens its files by itself: what they are is looked at before.
        if (place is SqlitePlace file)
        {
            GivenFile.Check(file.Path, "a history database");
            foreach (string beside in (string[])["", "-journal", "-wal", "-shm", ".lock"])
            {
                _ = PlainFile.IsThere(file.Path + beside);
            }
        }
        return new(HistoryDatabase.Open(place));
    }

    /// <summary>Null where no file of it is there yet: then nothing is known, and none is made.</summary>
    /// <exception cref="HistoryException">It is there and cannot be opened.</exception>
    public static HistoryBook? Existing(HistoryPlace place) => IsThere(place) ? Open(place) : null;

    /// <summary>False: there is no file of it yet.</summary>
    public static bool IsThere(HistoryPlace place) => place is not SqlitePlace file || File.Exists(file.Path);

    /// <summary>As <see cref="Open"/>; a file that is damaged is put aside first, and none is lost by it.</summary>
    /// <param name="tell">Told where it was put.</param>
    public static HistoryBook OpenToRebuild(HistoryPlace place, Action<string> tell)
    {
        try { return Open(place); }
        catch (HistoryException fault) when (fault.Damaged && place is SqlitePlace)
        {
            var file = (SqlitePlace)place;
            string aside = Enumerable.Range(1, int.MaxValue).Select(i => $"{file.Path}.damaged-{i}").First(p => !File.Exists(p));
            File.Move(file.Path, aside);
            tell($"hil: {file.Path} cannot be read as a history; it is put aside as {aside}");
            return Open(place);
        }
    }

    public void Dispose() => Database.Dispose();

    /// <summary>Takes in what was just played, or concluded again. A history that cannot be written, or a file that it cannot read, costs neither verdict nor report: that is said, and it is made again from the folders.</summary>
    public static void TakeInOrTell(JobContext context, HistoryPlace place, string batch)
    {
        try
        {
            using var book = Open(place);
            foreach (var fault in book.TakeIn(context, batch)) { context.Operator.Warn($"left out: {fault}"); }
        }
        catch (Exception fault) when (fault is HistoryException or BadInputException)
        {
            context.Operator.Warn($"{fault.Message}. The runs are kept; hil history --rebuild takes them in");
        }
    }

    /// <returns>Runs that were scored by earlier definitions and could not be scored again: their figures are left out.</returns>
    /// <exception cref="BadInputException">A file of the batch is missing or damaged.</exception>
    /// <exception cref="HistoryException">Nothing was taken in.</exception>
    private List<Fault> TakeIn(JobContext context, string batch)
    {
        var read = RecordedFolder.Read(context, batch);
        HistoryWriter.Record(Database, read);
        return [.. read.Runs.Where(r => r.WhyLeftOut is not null).Select(r => new Fault(
            Path.Combine(batch, r.Id, RunFiles.Score), 0, 0, DeliveryWords.Earlier,
            "a run that can be scored again from its capture", r.WhyLeftOut!))];
    }

    /// <summary>Takes in the batches under a folder that are not known, or were not at their end when they were taken in.</summary>
    /// <param name="all">Those that are known too.</param>
    /// <returns>How many were taken in, and what is wrong with those that could not be.</returns>
    public (int Taken, IReadOnlyList<Fault> Faults) TakeInUnder(JobContext context, string root, bool all)
    {
        var faults = new List<Fault>();
        int taken = 0;
        if (!Directory.Exists(root)) { return (0, faults); }
        var known = HistoryReader.Known(Database);
        foreach (string folder in RunFolders.Batches(root).Order(StringComparer.Ordinal))
        {
            try
            {
                var record = BatchRecord.Read(folder);
                if (record.Parts.Count > 0 || (!all && known.GetValueOrDefault(RecordedBatch.KeyOf(record.Host, record.Started, record.Name)))) { continue; }
                faults.AddRange(TakeIn(context, folder));
                taken++;
            }
            catch (BadInputException damaged) { faults.AddRange(damaged.Faults); }
        }
        return (taken, faults);
    }

    /// <summary>The newest batch of a suite that passed on another build and whose runs are still there; null: there is none.</summary>
    public string? LastGood(string suite, BuildIdentity but) =>
        HistoryReader.Good(Database, suite, but, GoodLookedAt).Select(b => b.Folder).FirstOrDefault(f => RunFolders.In(f).Count > 0);
}
