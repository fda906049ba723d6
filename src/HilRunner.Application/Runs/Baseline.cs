using HilRunner.Application.Comparing;
using HilRunner.Application.Histories;
using HilRunner.Application.Stored;
using HilRunner.Core;
using HilRunner.Core.Runs;
using HilRunner.History;

namespace HilRunner.Application.Runs;

/// <summary>The batch that a new one is held against.</summary>
/// <param name="Folder">Null: none was asked for, or none was found.</param>
/// <param name="WhyNone">Why none was found although one was asked for: no fault, since there is a first night.</param>
internal sealed record Baseline(string? Folder, string? WhyNone)
{
    /// <summary>The newest batch of the same name that passed on another build, by history.</summary>
    public const string LastGood = "last-good";

    /// <exception cref="BadInputException">A build was named that has no runs.</exception>
    /// <param name="leave">Of the rigs that this call names.</param>
    public static Baseline Find(JobContext context, BatchOrder order, string suite, BuildIdentity build, AdapterLeave leave)
    {
        if (order.Baseline is not { } reference) { return new(null, null); }
        if (reference != LastGood)
        {
            string named = ComparedBuild.FolderOf(reference, order.Out, suite);
            StoredDecoders.RefuseLacking(named, leave);
            return new(named, null);
        }
        // A database that does not answer at two in the morning must not cost the night.
        try
        {
            using var book = HistoryBook.Open(order.History);
            book.TakeInUnder(context, order.Out, all: false);
            if (book.LastGood(suite, build) is not { } folder)
            {
                return new(null, $"not compared: {suite} has not passed on another build before");
            }
            StoredDecoders.RefuseLacking(folder, leave);
            return new(folder, null);
        }
        catch (Exception fault) when (fault is HistoryException or BadInputException)
        {
            return new(null, $"not compared: {fault.Message}");
        }
    }

    /// <summary>
    /// Other batches of the baseline's image: they count with it. The one night was chosen for having passed, and is better than
    /// the image usually is.
    /// </summary>
    public IReadOnlyList<string> MorePlays(string root) => Folder is null ? [] : ComparedBuild.PlaysOfSameImage(Folder, root);
}
