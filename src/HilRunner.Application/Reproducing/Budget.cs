using System.Globalization;

namespace HilRunner.Application.Reproducing;

/// <summary>How much may be played for shrinking and bisecting.</summary>
internal sealed class Budget(TimeProvider clock, int plays, TimeSpan time)
{
    private readonly long _begun = clock.GetTimestamp();
    private int _played;

    /// <summary>Why no more may be played; null: go on.</summary>
    public string? Over => _played >= plays ? string.Create(CultureInfo.InvariantCulture, $"after {plays} plays, as --most-plays allows")
        : clock.GetElapsedTime(_begun) >= time ? string.Create(CultureInfo.InvariantCulture,
            $"after {time.TotalMinutes:0.#} minutes, as --most-minutes allows") : null;

    public void Take() => _played++;
}

/// <summary>The budget is spent: what was found so far stands.</summary>
internal sealed class BudgetSpentException(string why) : Exception(why);
