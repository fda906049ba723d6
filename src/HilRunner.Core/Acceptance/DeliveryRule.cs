namespace HilRunner.Core.Acceptance;

/// <summary>
/// What an acceptance asks of delivery: whether every sample reached the device, and every message of it the host.
/// </summary>
public enum DeliveryRule
{
    /// <summary>In every run that counts it is shown, or not needed; else the acceptance is open.</summary>
    Shown,
    /// <summary>That nothing disproves it is enough; the evidence says so in its first part.</summary>
    NotShownIsAccepted,
}
