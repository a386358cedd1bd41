"""The LED ladder and the voltmeter scale."""
