using System.Text;
using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Application.Histories;
using HilRunner.Application.Motions;
using HilRunner.Application.Playing;
using HilRunner.Application.Stored;
using HilRunner.Application.Tables;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Engine.Shaking;
using HilRunner.History;
using HilRunner.Reporting;
using HilRunner.Scoring.Trivial;

namespace HilRunner.Application.Runs;

/// <summary>What a command wants played: where, how fast, of which build, and where to.</summary>
/// <param name="Rigs">Rig files, or folders of them: of one kind.</param>
/// <param name="Speed">"": as the rig allows.</param>
internal sealed record BatchOrder(IReadOnlyList<string> Rigs, string? Link, string Speed, string Out)
{
    public string? Build { get; init; }
    public string? Image { get; init; }
    /// <summary>The build to be held against, or <see cref="Runs.Baseline.LastGood"/>; null: none.</summary>
    public string? Baseline { get; init; }
    /// <summary>Where what was played is taken into.</summary>
    public required HistoryPlace History { get; init; }
    public string? JUnit { get; init; }
    /// <summary>Where the few lines for a chat or a mail go besides the batch's folder; null: nowhere.</summary>
    public string? Summary { get; init; }
    /// <summary>Null: all of it.</summary>
    public Shard? Shard { get; init; }
    /// <summary>Go on with the newest batch that was cut off, where it is to play exactly this.</summary>
    public bool Resume { get; init; }
    /// <summary>Of the acceptance plan, where it is one: what it claims belongs to what is to be played.</summary>
    public string PlanSha256 { get; init; } = "";
    public bool Bell { get; init; }
    /// <summary>By the rig's table; null: by injection, or by hand.</summary>
    public TableOrder? Table { get; init; }
    public bool Quiet { get; init; }
}

/// <summary>A batch from its files to its verdict: everything is read and checked before anything is played.</summary>
internal sealed class BatchJob
{
    private readonly JobContext _context;
    private readonly BatchOrder _order;
    private readonly IReadOnlyList<PlayedRig> _rigs;
    private readonly Baseline _baseline;
    private string? _folder;
    private int _finished;

    private BatchJob(
        JobContext context, BatchOrder order, IReadOnlyList<PlayedRig> rigs, Batch batch, string speed, BuildIdentity build,
        Baseline baseline) =>
        (_context, _order, _rigs, Batch, Speed, Build, _baseline) = (context, order, rigs, batch, speed, build, baseline);

    /// <summary>Of what a person does not move, by the path of the scenario.</summary>
    public required IReadOnlyDictionary<string, StimulusFacts> Stimuli { get; init; }

    /// <summary>The first of them: in what a scenario can see, they are all alike.</summary>
    public PlayedRig On => _rigs[0];
    public Rig Rig => On.Rig;
    public IReadOnlyList<string> RigNames => [.. _rigs.Select(r => r.Rig.Name)];
    public Batch Batch { get; }
    public string Speed { get; }
    public BuildIdentity Build { get; }
    private AdapterLeave Leave => AdapterLeave.For(_rigs.Select(r => r.Document));
    /// <summary>Where the runs are, once they are played.</summary>
    public string Folder => _folder ?? throw new InvalidOperationException("nothing was played yet");

    /// <param name="read">From the rig to what is to be played.</param>
    /// <exception cref="BadInputException">Every fault of every file.</exception>
    /// <exception cref="UsageException">The command line asks for what cannot be.</exception>
    public static BatchJob Of(JobContext context, BatchOrder order, Func<Rig, Batch> read)
    {
        if (File.Exists(order.Out)) { throw new UsageException($"--out {order.Out}: is a file; expected a folder, or a name that is free"); }
        RefuseFolder("--junit", order.JUnit);
        RefuseFolder("--summary", order.Summary);
        var rigs = RigFiles.Read(order.Rigs, order.Link);
        Rig rig = rigs[0].Rig;
        Batch batch = read(rig);
        if (order.Shard is { } part) { batch = part.Take(batch); }
        if (rigs.Count > 1 && batch.Items.Any(i => i.ByHand is not null)) { throw new UsageException("a scenario made of prompts is moved by one person: give one --rig"); }
        batch = order.Table?.On(context.Operator, batch, rigs, order.Speed) ?? batch;
        string speed = order.Table is null ? PlaySpeed.For(context.Operator, rig, order.Speed, batch) : Speeds.Real;
        if (order.Image is { } image && !File.Exists(image)) { throw new BadInputException([new(image, 0, 0, "no such file", "the firmware image")]); }
        var build = new BuildIdentity(order.Build, order.Image, order.Image is null ? null : FileHash.Sha256(order.Image));
        _ = ExpectedBuild.Of(rig.Device.Identity, build);
        // Before anything is played: a baseline that is not there must not cost a night.
        var baseline = Baseline.Find(context, order, batch.Name, build, AdapterLeave.For(rigs.Select(r => r.Document)));
        var stimuli = order.Table is null ? BatchReader.CheckStimuli(batch, rig)
            : batch.Items.Where(i => i.OnTable is not null).DistinctBy(i => i.Document.Path)
                .ToDictionary(i => i.Document.Path, i => StimulusFacts.Of(i.OnTable!.Stimulus), StringComparer.Ordinal);
        return new(context, order, rigs, batch, speed, build, baseline) { Stimuli = stimuli };
    }

    /// <summary>Prepares the rig, plays, concludes.</summary>
    /// <param name="view">Shown what is played.</param>
    /// <param name="begun">Told the folder once it is there, and what is left to be played, before anything is.</param>
    public async Task<(SuiteResult Result, BatchOutcome Outcome)> RunAsync(
        IPlayView view, Action<string, IReadOnlyList<BatchItem>> begun, CancellationToken stop)
    {
        using var locks = new System.Reactive.Disposables.CompositeDisposable();
        foreach (var rig in _rigs) { locks.Add(RigLock.Take(_context, rig.Rig)); }
        DateTimeOffset now = _context.Now;
        string plan = RunKey.Digest(Batch, [.. _rigs.Select(r => r.Document.Sha256).Order(StringComparer.Ordinal), _order.Link ?? "", Speed, Build.ToString(), _order.PlanSha256, _order.Table is { } table ? $"on the table, {table.Fit}, {table.Model}" : ""]);
        var unfinished = _order.Resume
            ? UnfinishedBatch.Find(_context, _order.Out, plan, _rigs.Max(r => r.Rig.Recovery.Repeats), Leave) : null;
        foreach (var rig in _rigs)
        {
            await Erasing.PermitAsync(_context.Operator, rig, _order.Image, stop).ConfigureAwait(false);
        }
        string prepared = string.Concat(await Task.WhenAll(_rigs.Select(r => Task.Run(() => Prepared(r.Rig, stop), stop))).ConfigureAwait(false));
        if (_order.Resume) { Tell(unfinished); }
        _finished = unfinished?.Finished.Count ?? 0;
        try
        {
            _folder = unfinished?.Folder ?? BatchFolder.Create(_order.Out, now, Batch.Name);
            BatchRecord record = Begun(unfinished, plan, now);
            if (prepared.Length > 0) { PlainFile.AppendText(Path.Combine(Folder, BatchFolder.Prepared), prepared); }
            begun(Folder, [.. Batch.Items.Where(i => unfinished is null || !unfinished.Finished.Contains(RunKey.Of(i)))]);
            return await PlayedAsync(view, record, unfinished, stop).ConfigureAwait(false);
        }
        catch (IOException fault) when (DiskRoom.IsFull(_order.Out))
        {
            throw new IOException(DiskRoom.WhenFull(_folder ?? _order.Out, Batch.Items.Count - _finished), fault);
        }
    }

    private static void RefuseFolder(string option, string? path)
    {
        if (path is not null && (Directory.Exists(path) || File.Exists(Path.GetDirectoryName(Path.GetFullPath(path)))))
        {
            throw new UsageException($"{option} {path}: cannot be a file; expected a path whose folder is, or can be made, a folder");
        }
    }

    private BatchRecord Begun(UnfinishedBatch? unfinished, string plan, DateTimeOffset now)
    {
        var record = unfinished is not null ? unfinished.Record with { Trouble = null, Resumed = [.. unfinished.Record.Resumed, now] }
            : new BatchRecord(Batch.Name, Batch.Items.Count, now, null, null, Environment.MachineName, _context.Version, Build)
        {
            Plan = plan,
            Shard = _order.Shard?.ToString(),
            Suites = Batch.Suites,
            SameMotions = Same.Pairs,
            Baseline = _baseline.Folder is null ? null : Path.GetRelativePath(Folder, _baseline.Folder),
            BaselineMore = [.. _baseline.MorePlays(_order.Out).Where(f => Path.GetFullPath(f) != Path.GetFullPath(Folder))
                .Select(f => Path.GetRelativePath(Folder, f))],
            NotCompared = _baseline.WhyNone,
        };
        record.Write(Folder);
        return record;
    }

    private async Task<(SuiteResult Result, BatchOutcome Outcome)> PlayedAsync(
        IPlayView view, BatchRecord record, UnfinishedBatch? unfinished, CancellationToken stop)
    {
        List<BatchOptions> options = [.. _rigs.Select(r => new BatchOptions(r, _order.Link, Speed, Folder, Build, _order.Image, _order.Bell))];
        BatchOutcome outcome;
        using (var player = new BatchPlayer(options, _context, view)) { outcome = _order.Table is { } table
            ? await MovedAsync(player, table, unfinished, stop).ConfigureAwait(false)
            : await player.PlayAsync(Batch, unfinished, Enough, stop).ConfigureAwait(false); }
        _finished = outcome.Runs.Where(r => !StoredBatch.IsToBePlayedAgain(r.Run)).Select(r => RunKey.Of(r.Run.Manifest)).Distinct().Count();
        if (outcome.Trouble is { } trouble && DiskRoom.IsFull(Folder)) { throw new IOException(trouble); }
        // Before the screen is left, which a terminal that takes nothing can hold up.
        return (Conclude(record, outcome, Folder), outcome);
    }

    /// <summary>By the rig's table; what stops the table ends the batch.</summary>
    private async Task<BatchOutcome> MovedAsync(BatchPlayer player, TableOrder order, UnfinishedBatch? unfinished, CancellationToken stop)
    {
        await using var table = new TableRun(_context, Batch, Rig, order, Path.Combine(Folder, "shaker.log"), stop);
        TableWords.Tell(_context.Operator, [.. Batch.Items.Select(i => (i.Scenario.Name, i.OnTable!))]);
        try { await table.BeginAsync(stop).ConfigureAwait(false); }
        catch (ShakerException fault) { return new([], false, fault.Message); }
        catch (OperationCanceledException) { return new([], true, null); }
        var outcome = await player.PlayAsync(table.Batch, unfinished, Enough, table.Stopped).ConfigureAwait(false);
        return table.Fault is { } stopped && !stop.IsCancellationRequested ? outcome with { Interrupted = false, Trouble = stopped.Message } : outcome;
    }

    private SuiteResult Conclude(BatchRecord record, BatchOutcome outcome, string folder)
    {
        bool ended = !outcome.Interrupted && outcome.Trouble is null;
        record = record with { Ended = ended ? _context.Now : null, Trouble = outcome.Trouble, Enough = outcome.Enough };
        record.Write(folder);
        var result = BatchConclusion.Conclude(_context, record, outcome.Runs, folder, Leave, _order.JUnit, _order.Summary);
        HistoryBook.TakeInOrTell(_context, _order.History, folder);
        return result;
    }

    /// <returns>What was run and what it printed.</returns>
    private string Prepared(Rig rig, CancellationToken stop)
    {
        if (rig.Prepare.Count == 0) { return ""; }
        var said = new StringBuilder(_rigs.Count > 1 ? $"rig {rig.Name}:\n" : "");
        RigPreparation.Do(_context, rig, _order.Image, _order.Out, text => said.Append(text), stop);
        return said.ToString();
    }

    private void Tell(UnfinishedBatch? unfinished)
    {
        if (_order.Quiet) { return; }
        _context.Operator.Tell(unfinished is null
            ? $"nothing to resume: no batch in {_order.Out} was cut off that was to play exactly this; it begins anew"
            : $"going on with {unfinished.Folder}: {unfinished.Finished.Count} of {Batch.Items.Count} runs are done");
    }

    /// <summary>Recordings that hold the same motion; looked for where limits are judged over all trials.</summary>
    public SameMotions Same => _same ??= Batch.Suites.All(s => s.Limits.Count == 0) && Batch.Items.All(i =>
        i.Scenario.Rules.Limits.All(l => l.Confidence is null))
        ? SameMotions.None
        : SameMotions.Of(Batch.Items.Where(i => i.ByHand is null).DistinctBy(i => i.Document.Path).Select(i => (i.Folder,
            Stimuli[i.Document.Path].Sources)));

    private SameMotions? _same;

    /// <summary>What devices that hear nothing would get; null: see <see cref="TrivialCheck.Of"/>.</summary>
    public TrivialResult? Trivial() => Batch.Items.Any(i => i.ByHand is not null) ? null : TrivialCheck.Of(
        [.. Batch.Items.DistinctBy(i => (i.Document.Path, i.Suite, i.HoldNs)).Select(i => HeardRun.Of(i,
            Stimuli[i.Document.Path], Same))],
        Batch.Suites, Rig.Device.Outputs);

    private string? Enough(IReadOnlyList<(StoredRun Run, bool PlayedAgain)> played) =>
        PooledLimits.Enough(Batch.Suites, [.. played.Select(r => PooledRun.Of((r.Run, Shown(r.Run, r.PlayedAgain))))]);

    private SuiteRun Shown(StoredRun run, bool playedAgain) => Same.On(SuiteRun.From(run, null, playedAgain));
}
