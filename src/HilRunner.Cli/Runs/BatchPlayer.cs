using HilRunner.Cli.Screen;
using HilRunner.Core;
using HilRunner.Engine.Playing;
using HilRunner.Reporting;

namespace HilRunner.Cli.Runs;

/// <summary>
/// Plays a batch on one rig, or shared out over several of one kind: each takes the next scenario as soon as it is free. A run whose link was lost is played once more; the first stays in the
/// record, outside the verdict. Of several rigs, one that runs the wrong build, or is not there, takes no more, and another plays what it had.
/// </summary>
internal sealed class BatchPlayer(IReadOnlyList<BatchOptions> rigs, RunScreen screen) : IDisposable
{
    private readonly RigPlayer[] _players = [.. rigs.Select(r => new RigPlayer(r, screen))];
    private readonly object _gate = new();
    private readonly Queue<BatchItem> _waiting = new();
    private readonly List<StoredRun> _played = [];
    private readonly List<string> _troubles = [];
    private int _number, _busy;
    private string? _enough;
    private bool _over;

    /// <summary>Plays until the end of the batch, until stopped, or until the machine fails; what was played is always returned.</summary>
    /// <param name="unfinished">What was played before the batch was cut off: what is finished is not played again. Null: it begins now.</param>
    /// <param name="enough">Asked after every run: why no more need be played; null: go on.</param>
    public async Task<BatchOutcome> PlayAsync(Batch batch, UnfinishedBatch? unfinished, Func<IReadOnlyList<(StoredRun Run, bool PlayedAgain)>, string?> enough, CancellationToken stop)
    {
        _played.AddRange(unfinished?.Runs ?? []);
        _number = unfinished?.LastNumber ?? 0;
        var finished = unfinished?.Finished ?? new HashSet<RunKey>();
        foreach (var item in batch.Items.Where(i => !finished.Contains(RunKey.Of(i)))) { _waiting.Enqueue(item); }
        if (batch.Items.Any(i => i.ByHand is not null)) { _players[0].StartKeys(); }
        await Task.WhenAll(_players.Select(p => Task.Run(() => WorkAsync(p, batch.Items.Count, enough, stop), CancellationToken.None))).ConfigureAwait(false);
        // With nobody left to play what waits, the rigs were the trouble; of one that left others to do it, its runs say so.
        string? trouble = _waiting.Count > 0 && _enough is null && !stop.IsCancellationRequested && _troubles.Count > 0 ? string.Join("; ", _troubles) : null;
        return new(InOrder(), stop.IsCancellationRequested && trouble is null, trouble) { Enough = _enough };
    }

    public void Dispose()
    {
        foreach (var player in _players) { player.Dispose(); }
    }

    private async Task WorkAsync(RigPlayer player, int total, Func<IReadOnlyList<(StoredRun Run, bool PlayedAgain)>, string?> enough, CancellationToken stop)
    {
        try
        {
            while (Next(stop) is { } item)
            {
                bool goesOn;
                try { goesOn = await PlayAsync(player, item, total, enough, stop).ConfigureAwait(false); }
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
    private async Task<bool> PlayAsync(RigPlayer player, BatchItem item, int total, Func<IReadOnlyList<(StoredRun Run, bool PlayedAgain)>, string?> enough, CancellationToken stop)
    {
        StoredRun run = await player.PlayAsync(item, Interlocked.Increment(ref _number), total, stop).ConfigureAwait(false);
        if (run.Manifest.EndCause is EndCause.LinkLost or EndCause.PlayerGone && !stop.IsCancellationRequested)
        {
            lock (_gate) { _played.Add(run); }
            run = await player.PlayAsync(item, Interlocked.Increment(ref _number), total, stop).ConfigureAwait(false);
        }
        lock (_gate)
        {
            _played.Add(run);
            // A single rig plays on where its link cannot be opened: every scenario has its reason then. Of several, the others can.
            bool gone = run.Manifest.EndCause is EndCause.NotOpened or EndCause.NoAnswer or EndCause.LinkLost && _players.Length > 1;
            if (run.Manifest.EndCause == EndCause.WrongBuild || gone)
            {
                string name = _players.Length > 1 ? $"rig {player.RigName}: " : "";
                _troubles.Add(name + run.Score.Reasons[0]);
                _waiting.Enqueue(item);
                return false;
            }
            if (enough(InOrder()) is { } why) { (_enough, _over) = (why, true); }
            return true;
        }
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
