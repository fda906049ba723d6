using HilRunner.Core.Runs;

namespace HilRunner.Scoring;

/// <summary>What delivery adds beside a verdict: a sentence where it was not shown, or where only the count was.</summary>
public static class DeliveryNotes
{
    /// <summary>
    /// None where delivery was shown whole, was not needed, or was disproved (that is a fault of the rig, among the reasons).
    /// </summary>
    public static IEnumerable<string> Of(Delivery? delivery)
    {
        if (delivery is null) { yield break; }
        if (delivery.Outcome == DeliveryOutcome.NotShown) { yield return $"delivery not shown: {Unproven(delivery)}"; }
        if (delivery.AliveUntil is { } until)
        {
            yield return $"the device was last heard at {until}: nothing shows that it was alive after that";
        }
    }

    /// <summary>
    /// Of a delivery that is not shown: "nothing proves that all samples reached the device", with what to add to the rig file.
    /// </summary>
    public static string Unproven(Delivery delivery)
    {
        ArgumentNullException.ThrowIfNull(delivery);
        string what = (delivery.ToDevice.Outcome, delivery.FromDevice.Outcome) switch
        {
            (DeliveryOutcome.NotShown, DeliveryOutcome.NotShown) =>
                "that all samples reached the device, and all its messages the host",
            (DeliveryOutcome.NotShown, _) => "that all samples reached the device",
            _ => "that all the device's messages reached the host",
        };
        return $"nothing proves {what}{(delivery.Advice.Length > 0 ? $"; {delivery.Advice}" : "")}";
    }
}
