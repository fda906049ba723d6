using HilRunner.Application.Batches;
using HilRunner.Application.Benches;
using HilRunner.Application.Playing;
using HilRunner.Application.Stored;
using HilRunner.Core;
using HilRunner.Core.Links;
using HilRunner.Engine.Playing;
using HilRunner.Reporting;

namespace HilRunner.Application.Runs;

/// <summary>
/// Plays a batch on one rig, or shared out over several of one kind: each takes the next scenario as soon as it is free. A run that its rig spoiled is played again, as its rig's file says; the spoiled
/// one stays in the record, outside the verdict. A rig that cannot be brought back, or runs the wrong build, takes no more: another plays what it had, or, where none is left, what waits is left out.
/// </summary>
internal sealed class BatchPlayer(IReadOnlyList<BatchOptions> rigs, JobContext context, IPlayView view) : IDisposable
{
    private readonly RigPlayer[] _players = [.. rigs.Select(r => new RigPlayer(r, context, view))];
    private readonly object _gate = new();
    private readonly Queue<BatchItem> _waiting = new();
    private readonly List<StoredRun> _played = [];
    private readonly List<string> _troubles = [];
    private readonly HashSet<BatchItem> _passedOn = [];
    private int _number, _busy, _able;
    private string? _enough;
    private bool _over;

    /// <summary>Plays until the end of the batch, until stopped, or until the machine fails; what was played is always returned.</summary>
    /// <param name="unfinished">What was played before the batch was cut off: what is finished is not played again. Null: it begins now.</param>
    /// <param name="enough">Asked after every run: why no more need be played; null: go on.</param>
    public async Task<BatchOutcome> PlayAsync(Batch batch, UnfinishedBatch? unfinished, Func<IReadOnlyList<(StoredRun Run, bool PlayedAgain)>, string?> enough, CancellationToken stop)
    {
        _able = _players.Length;
        _played.AddRange(unfinished?.Runs ?? []);
        _number = unfinished?.LastNumber ?? 0;
        var finished = unfinished?.Finished ?? new HashSet<RunKey>();
        var items = batch.Items.Select((item, i) => item with { Place = (i + 1, batch.Items.Count) });
        foreach (var item in items.Where(i => !finished.Contains(RunKey.Of(i)))) { _waiting.Enqueue(item); }
        if (batch.Items.Any(i => i.ByHand is not null)) { _players[0].StartKeys(); }
        await Task.WhenAll(_players.Select(p => Task.Run(() => WorkAsync(p, enough, stop), CancellationToken.None))).ConfigureAwait(false);
        // Of a rig that left others to do its work, its runs say so.
        string? trouble = (_able == 0 || _over && _enough is null) && _troubles.Count > 0 && !stop.IsCancellationRequested ? string.Join("; ", _troubles) : null;
        return new(InOrder(), stop.IsCancellationRequested && trouble is null, trouble) { Enough = _enough };
    }

    public void Dispose()
    {
        foreach (var player in _players) { player.Dispose(); }
    }

    private async Task WorkAsync(RigPlayer player, Func<IReadOnlyList<(StoredRun Run, bool PlayedAgain)>, string?> enough, CancellationToken stop)
    {
        try
        {
            while (Next(stop) is { } item)
            {
                bool goesOn;
                try { goesOn = await PlayAsync(player, item, enough, stop).ConfigureAwait(false); }
                finally
                {
                    lock (_gate)
                    {
                        _busy--;
                        Monitor.PulseAll(_gate);
                    }
                }
                if (!goesOn) { return; }
            }
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException or InvalidDataException or BadInputException)
        {
            // A fault of the machine, such as a full disk: it stops all.
            lock (_gate)
            {
                _troubles.Add(fault.Message);
                _over = true;
                Monitor.PulseAll(_gate);
            }
        }
    }

    /// <returns>Whether the rig can go on.</returns>
    private async Task<bool> PlayAsync(RigPlayer player, BatchItem item, Func<IReadOnlyList<(StoredRun Run, bool PlayedAgain)>, string?> enough, CancellationToken stop)
    {
        var recovery = new RigRecovery(player.Rig);
        StoredRun run = await player.PlayAsync(item, Interlocked.Increment(ref _number), stop).ConfigureAwait(false);
        // Recovery never makes a table move.
        while (item.OnTable is null && !stop.IsCancellationRequested && recovery.Next(RigRecovery.Of(run)) is { } rung)
        {
            lock (_gate) { _played.Add(run); }
            try { player.BringBack(run, rung.Name, rung.Steps, stop); }
            catch (Exception fault) when (fault is IOException or LinkException)
            {
                // The rung did not hold; the next may.
                view.Tell(fault.Message);
                continue;
            }
            catch (OperationCanceledException) { return true; }
            run = await player.PlayAsync(item, Interlocked.Increment(ref _number), stop).ConfigureAwait(false);
        }
        if (run.Manifest.EndCause == EndCause.CaptureFailed) { throw new IOException(run.Score.Reasons[0]); }
        lock (_gate)
        {
            if (!_played.Contains(run)) { _played.Add(run); }
            bool spoiled = RigRecovery.Of(run) == Spoiled.Unreachable && !stop.IsCancellationRequested;
            // A link that was lost in mid-run may be the scenario's doing: another rig has a try, once, and this one goes on.
            bool gone = run.Manifest.EndCause == EndCause.WrongBuild || (spoiled && run.Manifest.EndCause is EndCause.NotOpened or EndCause.NoAnswer);
            if (gone)
            {
                _troubles.Add($"{(_players.Length > 1 ? $"rig {player.Rig.Name}: " : "")}{run.Score.Reasons[0]}");
                _able--;
            }
            if ((gone || spoiled) && _able > (gone ? 0 : 1) && _passedOn.Add(item)) { _waiting.Enqueue(item); }
            if (gone && _able == 0) { LeaveOutWaiting(player, run.Score.Reasons[0]); }
            if (gone) { return false; }
            if (enough(InOrder()) is { } why) { (_enough, _over) = (why, true); }
            return true;
        }
    }

    /// <summary>Nobody is left to play them: each still gets its folder, its verdict and its reason.</summary>
    private void LeaveOutWaiting(RigPlayer player, string why)
    {
        while (_waiting.TryDequeue(out var item)) { _played.Add(player.LeaveOut(item, Interlocked.Increment(ref _number), $"not played, since no rig was left: {why}")); }
    }

    /// <summary>Waits while another rig is still busy with what may have to be played again; null: there is nothing more.</summary>
    private BatchItem? Next(CancellationToken stop)
    {
        lock (_gate)
        {
            while (!_over && !stop.IsCancellationRequested)
            {
                if (_waiting.TryDequeue(out var item))
                {
                    _busy++;
                    return item;
                }
                if (_busy == 0) { return null; }
                Monitor.Wait(_gate);
            }
            return null;
        }
    }

    private IReadOnlyList<(StoredRun Run, bool PlayedAgain)> InOrder() => StoredBatch.Runs([.. _played.OrderBy(r => RunFolders.NumberOf(r.Folder))]);
}
