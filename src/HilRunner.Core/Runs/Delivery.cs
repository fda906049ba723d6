namespace HilRunner.Core.Runs;

/// <summary>What is known of whether everything arrived. Ordered from best to worst.</summary>
public enum DeliveryOutcome
{
    /// <summary>Nothing was sent: the device was moved by hand or on a table.</summary>
    NotNeeded,
    /// <summary>A complete count proves it.</summary>
    Delivered,
    /// <summary>Nothing proves it, and nothing speaks against it.</summary>
    NotShown,
    /// <summary>A count, a gap or a share of unanswered questions disproves it.</summary>
    NotDelivered,
}

/// <summary>What one piece of evidence says about one way of the link.</summary>
public enum DeliveryFinding
{
    /// <summary>A complete count: everything arrived.</summary>
    Proves,
    /// <summary>Nothing is missing as far as it looks, but it does not look at everything.</summary>
    Agrees,
    /// <summary>Something is missing.</summary>
    Disproves,
}

/// <summary>One piece of evidence about one way of the link.</summary>
/// <param name="Source">Where it comes from, in the words of the rig file: credit, counters, n, seq, windows, questions.</param>
/// <param name="Finding">What it says.</param>
/// <param name="Text">A sentence with the figures: "the device counted 2737 of 2800 samples".</param>
public sealed record DeliveryEvidence(string Source, DeliveryFinding Finding, string Text)
{
    /// <summary>How many there should have been; null where it counts nothing.</summary>
    public long? Expected { get; init; }
    /// <summary>How many were seen; null where it counts nothing.</summary>
    public long? Seen { get; init; }
}

/// <summary>One way of the link with all that is known about it.</summary>
/// <param name="Outcome">By the evidence: disproved by any, else proved by any, else not shown.</param>
/// <param name="Evidence">The deciding one first.</param>
public sealed record DeliveryWay(DeliveryOutcome Outcome, IReadOnlyList<DeliveryEvidence> Evidence)
{
    /// <summary>Nothing was sent this way.</summary>
    public static DeliveryWay NotNeeded { get; } = new(DeliveryOutcome.NotNeeded, []);

    /// <summary>The outcome that follows from evidence.</summary>
    public static DeliveryWay Of(IEnumerable<DeliveryEvidence> evidence)
    {
        DeliveryEvidence[] all = [.. evidence.OrderBy(e => e.Finding switch
        {
            DeliveryFinding.Disproves => 0,
            DeliveryFinding.Proves => 1,
            _ => 2,
        })];
        return new(all.Length == 0 ? DeliveryOutcome.NotShown : all[0].Finding switch
        {
            DeliveryFinding.Disproves => DeliveryOutcome.NotDelivered,
            DeliveryFinding.Proves => DeliveryOutcome.Delivered,
            _ => DeliveryOutcome.NotShown,
        }, all);
    }
}

/// <summary>
/// Whether what was played arrived at the device, and whether what the device said arrived here. Stands beside the verdict: a run
/// whose delivery is disproved says nothing of the device, and one whose delivery is not shown says so.
/// </summary>
public sealed record Delivery
{
    /// <summary>Samples, from the host to the device.</summary>
    public required DeliveryWay ToDevice { get; init; }
    /// <summary>Messages, from the device to the host.</summary>
    public required DeliveryWay FromDevice { get; init; }
    /// <summary>
    /// Delivered is a statement about how many arrived, not about what was in them: no check sum guards what is sent.
    /// </summary>
    public bool CountOnly { get; init; }
    /// <summary>Until when the device was shown to be alive, in stimulus time; null: to the end, or never known.</summary>
    public Time.StimulusTime? AliveUntil { get; init; }
    /// <summary>What to add to the rig file to have it shown; "" where it is shown.</summary>
    public string Advice { get; init; } = "";

    /// <summary>The worse of the two ways.</summary>
    public DeliveryOutcome Outcome => ToDevice.Outcome >= FromDevice.Outcome ? ToDevice.Outcome : FromDevice.Outcome;

    /// <summary>For a device that was moved by hand or on a table.</summary>
    public static Delivery NotNeeded { get; } = new() { ToDevice = DeliveryWay.NotNeeded, FromDevice = DeliveryWay.NotNeeded };

    /// <summary>For a run of which nothing shows, or disproves, that anything arrived.</summary>
    public static Delivery NothingShown { get; } = new() { ToDevice = DeliveryWay.Of([]), FromDevice = DeliveryWay.Of([]) };

    /// <summary>The word in files and on screens.</summary>
    public static string Word(DeliveryOutcome outcome) => outcome switch
    {
        DeliveryOutcome.NotNeeded => "not needed",
        DeliveryOutcome.Delivered => "delivered",
        DeliveryOutcome.NotShown => "not shown",
        DeliveryOutcome.NotDelivered => "not delivered",
        _ => throw new ArgumentOutOfRangeException(nameof(outcome), outcome, "is no outcome of delivery"),
    };
}
