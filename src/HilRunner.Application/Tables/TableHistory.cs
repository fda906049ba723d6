using System.Globalization;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;
using HilRunner.Transport.Locks;

namespace HilRunner.Application.Tables;

/// <summary>
/// How long a table has moved, kept from one call to the next, whichever user's: what limits its motion is its heat, and that
/// does not begin anew with a process. Kept every few seconds, so that a call that was killed is in it.
/// </summary>
internal sealed class TableHistory(SharedNote note, HostClock clock) : IDisposable
{
    private static readonly TimeSpan s_often = TimeSpan.FromSeconds(5);

    /// <summary>Anybody may have left a note: the worst of all that are not cold yet. What is damaged is nothing.</summary>
    /// <param name="rest">After a rest of this length it is cold.</param>
    /// <param name="by">Number of the user who says so.</param>
    public MovedBefore Read(TimeSpan rest, out uint? by)
    {
        var worst = default(MovedBefore);
        by = null;
        IReadOnlyList<ForeignNote> notes;
        try { notes = note.Read(); }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException) { return worst; }
        foreach (var (text, user) in notes)
        {
            string[] words = text.Split(' ');
            if (words.Length != 2 || !Number(words[0], out double unixS)
                || !Number(words[1], out double movedS) || !(movedS > worst.MovedS))
            {
                continue;
            }
            // It may have moved on for as long after it was written.
            double restedS = Math.Max(0, NowS - unixS - s_often.TotalSeconds);
            if (restedS < rest.TotalSeconds) { (worst, by) = (new(movedS, restedS), user); }
        }
        return worst;
    }

    /// <summary>To be called over and over while it is armed, until it is cancelled.</summary>
    public async Task KeepAsync(Func<MovedBefore> moved, CancellationToken stop)
    {
        while (!stop.IsCancellationRequested)
        {
            Write(moved());
            try { await Task.Delay(s_often, clock.Provider, stop).ConfigureAwait(false); }
            catch (OperationCanceledException) { }
        }
        Write(moved());
    }

    public void Dispose() => note.Dispose();

    private double NowS => clock.ToUnixNs(clock.Now) / 1e9;

    private void Write(MovedBefore moved) =>
        note.Write(string.Create(CultureInfo.InvariantCulture, $"{NowS - moved.RestedForS:0.000} {moved.MovedS:0.000}"));

    private static bool Number(string text, out double value) => double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out value) && double.IsFinite(value);
}
