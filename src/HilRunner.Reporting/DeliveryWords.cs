using HilRunner.Core.Runs;

namespace HilRunner.Reporting;

/// <summary>Delivery, and what else stands beside a verdict, as a colleague would say it.</summary>
public static class DeliveryWords
{
    /// <summary>Of a score of before today's definitions.</summary>
    public const string Earlier = "earlier definitions";

    /// <summary>"delivery not shown in 2 of 5 runs"; "" where it is shown, or not needed, in all that count.</summary>
    public static string Count(SuiteResult suite)
    {
        ArgumentNullException.ThrowIfNull(suite);
        int runs = suite.Runs.Count(r => r.Counts);
        return suite.DeliveryNotShown == 0
            ? "" : runs == 1 ? "delivery not shown" : $"delivery not shown in {suite.DeliveryNotShown} of {runs} runs";
    }

    /// <summary>
    /// What stands beside the verdicts of a suite's runs that count, each sentence once, with the number of runs where it is not
    /// all of them. Where none counts, of all.
    /// </summary>
    public static IReadOnlyList<string> Notes(SuiteResult suite)
    {
        ArgumentNullException.ThrowIfNull(suite);
        var runs = suite.Runs.Where(r => r.Counts).ToList();
        if (runs.Count == 0) { runs = [.. suite.Runs.Where(r => !r.PlayedAgain)]; }
        return [.. runs.SelectMany(r => r.Notes.Distinct(StringComparer.Ordinal)).GroupBy(n => n, StringComparer.Ordinal)
            .Select(g => g.Count() == runs.Count ? g.Key : $"in {g.Count()} of {runs.Count} runs: {g.Key}")];
    }

    /// <summary>Both ways in a sentence.</summary>
    public static string Sentence(Delivery delivery)
    {
        ArgumentNullException.ThrowIfNull(delivery);
        return delivery.Outcome switch
        {
            DeliveryOutcome.NotNeeded =>
                "Nothing was sent to the device: it was moved, so nothing could be lost on the way to it.",
            DeliveryOutcome.Delivered when delivery.CountOnly =>
                "As many samples as were sent reached the device, and all its messages reached the host. Whether each sample arrived as it was sent is not known: no check sum guards them.",
            DeliveryOutcome.Delivered => "All samples reached the device, and all its messages reached the host.",
            DeliveryOutcome.NotDelivered => $"{Lost(delivery)}: what the device said of the rest proves nothing about it.",
            _ when delivery.ToDevice.Outcome != DeliveryOutcome.NotShown =>
                "All samples reached the device. That all its messages reached the host is neither shown nor disproved.",
            _ when delivery.FromDevice.Outcome != DeliveryOutcome.NotShown =>
                "All messages of the device reached the host. That all samples reached the device is neither shown nor disproved.",
            _ => "Nothing disproves that everything arrived, and nothing proves it.",
        };
    }

    /// <summary>Of one run, with what shows it: "delivered, by counters (count only: no check sum)".</summary>
    public static string WithSource(Delivery delivery)
    {
        ArgumentNullException.ThrowIfNull(delivery);
        string[] by = [.. ((DeliveryWay[])[delivery.ToDevice, delivery.FromDevice]).Where(w => w.Outcome == delivery.Outcome)
            .SelectMany(w => w.Evidence.Take(1)).Select(e => e.Source).Distinct(StringComparer.Ordinal)];
        bool shown = delivery.Outcome is DeliveryOutcome.Delivered or DeliveryOutcome.NotDelivered;
        return Delivery.Word(delivery.Outcome) + (shown && by.Length > 0 ? $", by {string.Join(" and ", by)}" : "")
            + (delivery.CountOnly ? " (count only: no check sum guards what is sent)" : "");
    }

    private static string Lost(Delivery delivery) => (delivery.ToDevice.Outcome, delivery.FromDevice.Outcome) switch
    {
        (DeliveryOutcome.NotDelivered, DeliveryOutcome.NotDelivered) =>
            "Samples were lost on their way to the device, and messages on theirs to the host",
        (DeliveryOutcome.NotDelivered, _) => "Samples were lost on their way to the device",
        _ => "Messages of the device were lost on their way to the host",
    };
}
